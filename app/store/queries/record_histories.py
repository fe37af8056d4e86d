"""Reading the history of a record that is known by its name, through every name it had."""

from sqlalchemy.orm import Session

from app.store.queries.history import HistoryEntry, list_history


def list_history_of_named(
    session: Session, *, kind: str, name: str, field: str, zone: str
) -> tuple[HistoryEntry, ...]:
    """Return the lines of a record, newest first, also those under names it had before.

    The history calls it "kind name"; a line that changes `field` tells the name before, and the
    line "kind added" is its first: lines before that are of another record of the same name.
    """
    lines: list[HistoryEntry] = []
    wanted: str | None = name
    while wanted is not None:
        before = lines[-1].sequence if lines else None
        found = [
            line
            for line in list_history(session, subject=f"{kind} {wanted}", zone=zone)
            if before is None or line.sequence < before
        ]
        first = next((at for at, line in enumerate(found) if line.what == f"{kind} added"), None)
        lines += found if first is None else found[: first + 1]
        wanted = None
        if found and first is None:
            wanted = _name_before(found, field=field)
    return tuple(lines)


def _name_before(lines: list[HistoryEntry], *, field: str) -> str | None:
    """Return the name that the oldest of the lines changed, None if it changed none."""
    return next((change.before for change in lines[-1].changes if change.field == field), None)
