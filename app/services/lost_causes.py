"""The list of causes a cutting is lost to: filling it at the start, adding, correcting."""

from collections.abc import Iterable
from datetime import datetime

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.domain.lost_causes import DEFAULT_CAUSES, KEPT_CAUSES, SPREADING, cause_name
from app.domain.people import Actor
from app.domain.problems import NotAccepted, NotFound
from app.services.corrections import correct_row
from app.services.history import JsonValue, record_change
from app.store.models.lost_causes import LostCause


def load_starting_lost_causes(session: Session) -> None:
    """Put in the usual causes where the list is still empty."""
    if session.scalar(select(LostCause.id).limit(1)) is not None:
        return
    session.add_all(
        LostCause(name=name, spreads=name in SPREADING, position=position)
        for position, name in enumerate(DEFAULT_CAUSES)
    )
    session.flush()


def add_lost_cause(
    session: Session, *, actor: Actor | None, now: datetime, name: str, spreads: bool = False
) -> int:
    """Add a cause at the end of the list and return its id.

    Raises:
        NotAccepted: the name is no name or is taken.
    """
    tidy = cause_name(name)
    _refuse_taken(session, tidy, but=None)
    last = session.scalar(select(func.max(LostCause.position)))
    row = LostCause(name=tidy, spreads=spreads, position=0 if last is None else last + 1)
    session.add(row)
    session.flush()
    _write(session, actor=actor, now=now, what="cause of loss added", name=tidy, change={})
    return row.id


def correct_lost_cause(
    session: Session,
    *,
    actor: Actor | None,
    now: datetime,
    cause_id: int,
    version: int,
    name: str,
    spreads: bool,
    retired: bool,
) -> None:
    """Correct a cause; checks that name it follow its new name, a retired one is not offered.

    Raises:
        NotAccepted: the name is no name or is taken, or the cause is one that others lean on.
        ChangedMeanwhile: somebody else saved it after `version` was read.
        NotFound: there is no such cause.
    """
    row = session.get(LostCause, cause_id)
    if row is None:
        raise NotFound("This cause is not in the list.")
    tidy = cause_name(name)
    if row.name in KEPT_CAUSES and (tidy != row.name or retired):
        sentence = f"{row.name} stays in the list under its name: counts and sheets lean on it."
        raise NotAccepted.at("name", sentence)
    _refuse_taken(session, tidy, but=cause_id)
    retired_at = (row.retired_at or now) if retired else None
    after = {"name": tidy, "spreads": spreads, "retired_at": retired_at}
    changes = correct_row(row, version=version, after=after)
    if changes:
        session.flush()
        _write(
            session, actor=actor, now=now, what="cause of loss corrected", name=tidy, change=changes
        )


def cause_ids(session: Session, *, names: Iterable[str]) -> dict[str, int]:
    """Return the id of each cause named, those retired too.

    Raises:
        NotAccepted: one of them is not in the list.
    """
    wanted = sorted(set(names))
    if not wanted:
        return {}
    query = select(LostCause.name, LostCause.id).where(LostCause.name.in_(wanted))
    found = {row.name: row.id for row in session.execute(query)}
    for name in wanted:
        if name not in found:
            sentence = f"{name} is not in the list of causes. Choose another, or have it added."
            raise NotAccepted.at("lost", sentence)
    return found


def _refuse_taken(session: Session, name: str, *, but: int | None) -> None:
    query = select(LostCause.id).where(func.lower(LostCause.name) == name.lower())
    found = session.scalar(query)
    if found is not None and found != but:
        raise NotAccepted.at("name", f"{name} is in the list already.")


def _write(
    session: Session,
    *,
    actor: Actor | None,
    now: datetime,
    what: str,
    name: str,
    change: dict[str, JsonValue],
) -> None:
    subject = f"cause of loss {name}"
    record_change(session, actor=actor, now=now, what=what, subject=subject, change=change)
