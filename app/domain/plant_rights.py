"""What a protected variety asks of whoever propagates it, said beside the work."""

from datetime import date

from app.domain.plant_name_entries import rights_in_force


def rights_words(*, grant: str, licence: str, until: date | None, on: date) -> str:
    """Return what to mind when a variety is stuck on a day, "" where no right is in force."""
    if not rights_in_force(until, grant=grant, licence=licence, on=on):
        return ""
    number = f" (grant {grant})" if grant else ""
    if licence:
        return f"A protected variety{number}: propagate it under licence {licence} only."
    return f"A protected variety{number}, and no licence to propagate it is recorded: ask first."
