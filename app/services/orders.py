"""Orders: adding, correcting, ending and reopening them; undo is ending with a reason."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Final

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.domain.orders import OrderEntry, OrderState, accepted_order, order_name
from app.domain.people import Actor
from app.domain.plant_names import accept_plant_name, parse_plant_name
from app.domain.problems import NotAccepted, NotFound
from app.services.corrections import NamedColumn, correct_row, named_changes, refuse_stale
from app.services.genera import keep_genus
from app.services.history import JsonValue, record_change
from app.services.order_outlooks import forget_outlook
from app.services.plant_names import keep_typed_plant, resolve_plant
from app.store.models.genera import Genus
from app.store.models.hormones import HormoneRow
from app.store.models.orders import OrderRow
from app.store.models.plant_names import PlantNameRow

UNKNOWN: Final = -1
TAKEN_BACK: Final = "taken back right after it was entered"
_COLUMNS: Final = tuple(OrderEntry.__dataclass_fields__)
_BY_NAME: Final = {
    "plant_name_id": NamedColumn(field="plant", model=PlantNameRow, label="plain"),
    "genus_id": NamedColumn(field="genus", model=Genus, label="name"),
    "hormone_id": NamedColumn(field="hormone", model=HormoneRow, label="label"),
}


@dataclass(frozen=True, kw_only=True)
class WantedPlant:
    """What is ordered: a plant's name, or a genus of which any plant will do."""

    plant_name_id: int | None = None
    genus_id: int | None = None


@dataclass(frozen=True, kw_only=True)
class NamedPlant:
    """What a typed name stands for; an id of -1 is of something not in the log yet.

    `plant_name_id` is None for a genus of which any plant will do.
    """

    plant: str
    genus: str
    genus_id: int
    species: str = ""
    plant_name_id: int | None = None


def find_wanted_plant(session: Session, *, typed: str) -> NamedPlant:
    """Return what a typed name stands for without keeping anything; a genus alone is any of it.

    Raises:
        NotAccepted: at "plant", it is no name by the rules.
    """
    line = " ".join(typed.split())
    resolved = None if _genus_alone(line) else resolve_plant(session, typed=line)
    name = parse_plant_name(line).name if resolved is None else resolved.name
    genus_id = session.scalar(select(Genus.id).where(Genus.name == name.genus))
    known = resolved.plant_name_id if resolved else None
    return NamedPlant(
        plant=name.plain,
        genus=name.genus,
        genus_id=UNKNOWN if genus_id is None else genus_id,
        species=name.species,
        plant_name_id=None if resolved is None else UNKNOWN if known is None else known,
    )


def keep_wanted_plant(
    session: Session, *, actor: Actor | None, now: datetime, typed: str, confirmed: str = ""
) -> WantedPlant:
    """Return what a typed name stands for: a genus alone means any plant of it.

    Raises:
        NotAccepted: at "plant", as `keep_typed_plant`.
    """
    line = " ".join(typed.split())
    if genus := _genus_alone(line):
        if session.scalar(select(Genus.id).where(Genus.name == genus)) is None:
            # A genus that is new to the log may be a slip, or a common name.
            accept_plant_name(line, confirmed=confirmed)
        return WantedPlant(genus_id=keep_genus(session, name=genus))
    plant_name_id = keep_typed_plant(
        session, actor=actor, now=now, typed=typed, confirmed=confirmed
    )
    return WantedPlant(plant_name_id=plant_name_id)


def add_order(
    session: Session, *, actor: Actor | None, today: date, now: datetime, entry: OrderEntry
) -> int:
    """Add an order, give it the next number and return that. A number is never given twice.

    Raises:
        NotAccepted: the entry breaks a rule, or leans on a record that is not there.
    """
    entry = _fitting(session, accepted_order(entry, today=today))
    number = (session.scalar(select(func.max(OrderRow.number))) or 0) + 1
    session.add(OrderRow(**_values(entry), number=number, made_at=now))
    session.flush()
    _write(session, actor, now, "order added", number, {})
    return number


def correct_order(
    session: Session,
    *,
    actor: Actor | None,
    today: date,
    now: datetime,
    number: int,
    version: int,
    entry: OrderEntry,
) -> None:
    """Correct what was entered of an order.

    Raises:
        NotAccepted: the entry breaks a rule, or the order is no longer open.
        ChangedMeanwhile: somebody else saved it after `version` was read.
        NotFound: there is no such order.
    """
    row = _row(session, number)
    if row.state != OrderState.OPEN:
        raise NotAccepted.at("", f"Order {number} is {row.state}: open it again to correct it.")
    entry = _fitting(session, accepted_order(entry, today=today, due_before=row.due_on))
    after = _values(entry)
    told = named_changes(session, row=row, after=after, named=_BY_NAME)
    refuse_stale(row, version=version, changes=told)
    if correct_row(row, version=version, after=after):
        session.flush()
        forget_outlook(session, order_id=row.id)
        _write(session, actor, now, "order corrected", number, told)


def end_order(
    session: Session,
    *,
    actor: Actor,
    now: datetime,
    number: int,
    version: int,
    state: OrderState,
    ended_on: date,
    reason: str = "",
) -> None:
    """End an order: it was met, or it is closed for a reason. It stays readable.

    Raises:
        NotAccepted: it has ended already, or is closed without a reason.
        ChangedMeanwhile: somebody else saved it after `version` was read.
        NotFound: there is no such order.
    """
    row = _row(session, number)
    tidy = " ".join(reason.split())
    if row.state != OrderState.OPEN:
        raise NotAccepted.at("", f"Order {number} is {row.state} already.")
    if state is OrderState.CLOSED and not tidy:
        raise NotAccepted.at("reason", "Say why it is closed, for whoever looks for it.")
    after = {"state": state.value, "ended_on": ended_on, "ended_reason": tidy}
    changes = correct_row(row, version=version, after=after)
    session.flush()
    forget_outlook(session, order_id=row.id)
    _write(session, actor, now, f"order {state.value}", number, changes)


def reopen_order(session: Session, *, actor: Actor, now: datetime, number: int) -> None:
    """Open an order again that was met or closed.

    Raises:
        NotAccepted: it is open.
        NotFound: there is no such order.
    """
    row = _row(session, number)
    if row.state == OrderState.OPEN:
        raise NotAccepted.at("", f"Order {number} is open.")
    after = {"state": OrderState.OPEN.value, "ended_on": None, "ended_reason": ""}
    changes = correct_row(row, version=row.version, after=after)
    session.flush()
    _write(session, actor, now, "order opened again", number, changes)


def _genus_alone(line: str) -> str:
    """Return the genus if nothing else was typed, "" otherwise."""
    if not line.isalpha():
        return ""
    name = parse_plant_name(line).name
    return name.genus if name.plain == name.genus else ""


def _fitting(session: Session, entry: OrderEntry) -> OrderEntry:
    """Return an entry whose records are there."""
    plant = (
        session.get(PlantNameRow, entry.plant_name_id)
        if entry.plant_name_id is not None
        else session.get(Genus, entry.genus_id or 0)
    )
    if plant is None or (entry.plant_name_id is not None and entry.genus_id is not None):
        raise NotAccepted.at("plant", "Say what is wanted: a plant's name, or a genus.")
    if entry.hormone_id is not None and session.get(HormoneRow, entry.hormone_id) is None:
        raise NotAccepted.at("hormone", "Choose the hormone again: this one is not in the list.")
    return entry


def _values(entry: OrderEntry) -> dict[str, Any]:
    values = {column: getattr(entry, column) for column in _COLUMNS}
    kind = entry.cutting_type.value if entry.cutting_type else ""
    return values | {"place": entry.place.value, "cutting_type": kind}


def _row(session: Session, number: int) -> OrderRow:
    row = session.scalars(select(OrderRow).where(OrderRow.number == number)).one_or_none()
    if row is None:
        raise NotFound(f"There is no order {number}.")
    return row


def _write(
    session: Session,
    actor: Actor | None,
    now: datetime,
    what: str,
    number: int,
    change: dict[str, JsonValue],
) -> None:
    subject = order_name(number)
    record_change(session, actor=actor, now=now, what=what, subject=subject, change=change)
