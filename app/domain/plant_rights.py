"""What a protected variety asks of whoever propagates it, said beside the work."""

from collections.abc import Iterator
from datetime import date

from app.domain.people import Role
from app.domain.plant_name_entries import rights_in_force
from app.domain.problems import Problem


def rights_words(*, grant: str, licence: str, until: date | None, on: date) -> str:
    """Return what to mind when a variety is stuck on a day, "" where no right is in force."""
    if not rights_in_force(until, grant=grant, licence=licence, on=on):
        return ""
    number = f" (grant {grant})" if grant else ""
    if licence:
        return f"A protected variety{number}: propagate it under licence {licence} only."
    return f"A protected variety{number}, and no licence to propagate it is recorded: ask first."


def rights_problems(
    *, grant: str, licence: str, until: date | None, on: date, role: Role, reason: str
) -> Iterator[Problem]:
    """Yield why a protected variety without a licence may not be stuck on a day.

    Only the head propagator sticks it, and says why.
    """
    if licence or not rights_in_force(until, grant=grant, licence=licence, on=on):
        return
    what = rights_words(grant=grant, licence=licence, until=until, on=on).partition(": ask")[0]
    if role is not Role.HEAD:
        sentence = f"{what}. Ask the head propagator, who alone can stick it."
        yield Problem(field="plant", sentence=sentence)
    elif not reason.strip():
        sentence = f"{what}. Say why it is stuck all the same."
        yield Problem(field="rights_reason", sentence=sentence)
