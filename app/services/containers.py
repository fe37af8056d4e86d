"""Containers: adding, correcting, retiring."""

from datetime import datetime
from typing import Any, Final

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.containers import ContainerEntry, ContainerKind, accepted_container
from app.domain.people import Actor
from app.domain.problems import NotAccepted, NotFound
from app.services.corrections import correct_row
from app.services.history import JsonValue, record_change
from app.store.models.containers import Container

_STARTING: Final = (
    ContainerEntry(name="84-plug tray", kind=ContainerKind.TRAY, plugs=84, volume_ml=55),
    ContainerEntry(name="104-plug tray", kind=ContainerKind.TRAY, plugs=104, volume_ml=30),
    ContainerEntry(name="Open tray", kind=ContainerKind.TRAY),
    ContainerEntry(name="9 cm pot", kind=ContainerKind.POT, volume_ml=380),
    ContainerEntry(name="Lined out", kind=ContainerKind.LINED_OUT),
)


def add_container(
    session: Session, *, actor: Actor | None, now: datetime, entry: ContainerEntry
) -> int:
    """Add a container and return its id.

    Raises:
        NotAccepted: the entry breaks a rule or the name is taken.
    """
    entry = accepted_container(entry)
    _refuse_taken(session, entry.name, but=None)
    row = Container(**_values(entry))
    session.add(row)
    session.flush()
    _write(session, actor, now, "container added", entry.name, {})
    return row.id


def correct_container(
    session: Session,
    *,
    actor: Actor | None,
    now: datetime,
    container_id: int,
    version: int,
    entry: ContainerEntry,
    retired: bool,
) -> None:
    """Correct a container; a retired one is no longer offered for new batches.

    Raises:
        NotAccepted: the entry breaks a rule or the name is taken.
        ChangedMeanwhile: somebody else saved it after `version` was read.
        NotFound: there is no such container.
    """
    row = session.get(Container, container_id)
    if row is None:
        raise NotFound("This container is not in the list.")
    entry = accepted_container(entry)
    _refuse_taken(session, entry.name, but=container_id)
    retired_at = (row.retired_at or now) if retired else None
    changes = correct_row(row, version=version, after=_values(entry) | {"retired_at": retired_at})
    if changes:
        session.flush()
        _write(session, actor, now, "container corrected", entry.name, changes)


def keep_container(session: Session, *, actor: Actor | None, now: datetime, name: str) -> int:
    """Return the id of the container of this name, adding a tray by that name if it is new."""
    tidy = " ".join(name.split())
    found = session.scalar(select(Container.id).where(Container.name == tidy))
    if found is not None:
        return found
    entry = ContainerEntry(name=tidy, kind=ContainerKind.TRAY)
    return add_container(session, actor=actor, now=now, entry=entry)


def load_starting_containers(session: Session, *, now: datetime) -> None:
    """Put in a few common containers where the list is still empty."""
    if session.scalar(select(Container.id).limit(1)) is None:
        for entry in _STARTING:
            add_container(session, actor=None, now=now, entry=entry)


def _refuse_taken(session: Session, name: str, *, but: int | None) -> None:
    found = session.scalar(select(Container.id).where(Container.name == name))
    if found is not None and found != but:
        raise NotAccepted.at("name", f"There is a container called {name} already.")


def _values(entry: ContainerEntry) -> dict[str, Any]:
    return {
        "name": entry.name,
        "kind": str(entry.kind),
        "plugs": entry.plugs,
        "volume_ml": entry.volume_ml,
    }


def _write(  # the same subject for every line of one container
    session: Session,
    actor: Actor | None,
    now: datetime,
    what: str,
    name: str,
    change: dict[str, JsonValue],
) -> None:
    record_change(
        session, actor=actor, now=now, what=what, subject=f"container {name}", change=change
    )
