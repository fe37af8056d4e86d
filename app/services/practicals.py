"""Practical sessions: planning one, correcting it, putting it off, cancelling, taking that back."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Final

from sqlalchemy import delete, func, insert, select
from sqlalchemy.orm import Session
from sqlalchemy.orm.attributes import flag_modified

from app.domain.codes import practical_code
from app.domain.days import day_long
from app.domain.people import Actor
from app.domain.practicals import PracticalEntry, accepted_practical
from app.domain.problems import NotAccepted, Problem
from app.domain.reasons import accepted_reason
from app.services.corrections import NamedColumn, named_changes, refuse_stale
from app.services.history import JsonValue, record_change
from app.services.hormones import keep_hormone
from app.store.models.batches import Batch
from app.store.models.benches import Bench
from app.store.models.containers import Container
from app.store.models.hormones import HormoneRow
from app.store.models.method_cards import MethodCardVersion
from app.store.models.mixes import Mix
from app.store.models.people import Person
from app.store.models.plant_names import PlantNameRow
from app.store.models.practicals import Practical, PracticalBatch, PracticalPerson
from app.store.queries.practicals import KnownPractical, get_practical

_WHY: Final = "Say why, for those who meant to come."
_AS_TYPED: Final = (
    "held_on", "topic", "taught_by_id", "heads", "plant_name_id", "per_head", "per_place",
    "container_id", "mix_id", "bench_id", "method_card_version_id", "notes",
)  # fmt: skip
_LINES: Final = ("steps", "tools", "cautions")
_NAMED: Final = {
    "taught_by_id": NamedColumn(field="taught by", model=Person, label="key"),
    "plant_name_id": NamedColumn(field="plant", model=PlantNameRow, label="plain"),
    "hormone_id": NamedColumn(field="hormone", model=HormoneRow, label="label"),
    "container_id": NamedColumn(field="container", model=Container, label="name"),
    "mix_id": NamedColumn(field="mix", model=Mix, label="name"),
    "bench_id": NamedColumn(field="bench", model=Bench, label="name"),
}
_REFERENCES: Final = (
    ("taught_by_id", Person, "taught_by"),
    ("container_id", Container, "container"),
    ("mix_id", Mix, "mix"),
    ("bench_id", Bench, "bench"),
    ("plant_name_id", PlantNameRow, "plant"),
    ("method_card_version_id", MethodCardVersion, ""),
)


@dataclass(frozen=True, kw_only=True)
class PlannedPractical:
    """A practical session as the program knows it from now on."""

    id: int
    code: str


def plan_practical(
    session: Session, *, actor: Actor, today: date, now: datetime, entry: PracticalEntry
) -> PlannedPractical:
    """Write a practical session down, give it the next code, and return both.

    Raises:
        NotAccepted: the entry breaks a rule, or names what does not exist.
    """
    entry = _fitting(session, entry, today=today)
    number = (session.scalar(select(func.max(Practical.number))) or 0) + 1
    row = Practical(
        number=number,
        made_at=now,
        recorded_by_id=actor.person_id,
        **_columns(session, entry),
    )
    session.add(row)
    session.flush()
    _write_people(session, row.id, entry.people_ids)
    _write(session, actor=actor, now=now, what="practical session planned", code_of=row)
    return PlannedPractical(id=row.id, code=practical_code(number))


def correct_practical(
    session: Session,
    *,
    actor: Actor,
    today: date,
    now: datetime,
    code: str,
    version: int,
    entry: PracticalEntry,
) -> None:
    """Put right what was entered of a practical session; the method card it came from stays.

    Raises:
        NotAccepted: the entry breaks a rule, a batch was stuck before the day given, or the
            session is cancelled.
        ChangedMeanwhile: somebody else saved it after `version` was read.
        NotFound: there is no such session.
    """
    known = get_practical(session, code=code)
    if known.cancelled:
        raise NotAccepted.at("", f"{known.code} is cancelled: let it take place first.")
    entry = _fitting(session, entry, today=today)
    row = session.get_one(Practical, known.id)
    columns = _columns(session, entry)
    columns.pop("method_card_version_id")
    changes = {
        **named_changes(session, row=row, after=columns, named=_NAMED),
        **_people_changes(session, before=known.entry.people_ids, after=entry.people_ids),
    }
    refuse_stale(row, version=version, changes=changes)
    if not changes:
        return
    _refuse_batches_before(session, known, held_on=entry.held_on)
    _set(session, row, columns=columns, people_ids=entry.people_ids)
    what = "practical session corrected"
    _write(session, actor=actor, now=now, what=what, code_of=row, change=changes)


def put_off_practical(
    session: Session, *, actor: Actor, today: date, now: datetime, code: str, to: date, reason: str
) -> None:
    """Put a practical session off to another day, with the reason.

    Raises:
        NotAccepted: no reason, the same day or one that is over, batches belong to it already, or
            it is cancelled.
        NotFound: there is no such session.
    """
    known = _to_change(session, code)
    tidy = accepted_reason(reason, missing=_WHY)
    if to < today or to == known.entry.held_on:
        raise NotAccepted.at("held_on", "Give another day, from today on.")
    accepted_practical(PracticalEntry(held_on=to, topic=known.entry.topic), today=today)
    row = session.get_one(Practical, known.id)
    change: dict[str, JsonValue] = {
        "held_on": [row.held_on.isoformat(), to.isoformat()],
        "reason": [None, tidy],
    }
    row.put_off_from, row.put_off_reason, row.held_on = row.put_off_from or row.held_on, tidy, to
    session.flush()
    what = "practical session put off"
    _write(session, actor=actor, now=now, what=what, code_of=row, change=change)


def cancel_practical(
    session: Session, *, actor: Actor, now: datetime, code: str, reason: str
) -> None:
    """Let a practical session not take place, with the reason; it stays readable.

    Raises:
        NotAccepted: no reason, batches belong to it, or it is cancelled already.
        NotFound: there is no such session.
    """
    known = _to_change(session, code)
    tidy = accepted_reason(reason, missing=_WHY)
    row = session.get_one(Practical, known.id)
    row.cancelled_at, row.cancelled_by_id, row.cancel_reason = now, actor.person_id, tidy
    session.flush()
    change: dict[str, JsonValue] = {"cancelled": [False, True], "reason": [None, tidy]}
    what = "practical session cancelled"
    _write(session, actor=actor, now=now, what=what, code_of=row, change=change)


def reinstate_practical(session: Session, *, actor: Actor, now: datetime, code: str) -> None:
    """Let a cancelled practical session take place after all.

    Raises:
        NotAccepted: it is not cancelled.
        NotFound: there is no such session.
    """
    known = get_practical(session, code=code)
    if not known.cancelled:
        raise NotAccepted.at("", f"{known.code} is not cancelled.")
    row = session.get_one(Practical, known.id)
    row.cancelled_at, row.cancelled_by_id, row.cancel_reason = None, None, ""
    session.flush()
    change: dict[str, JsonValue] = {"cancelled": [True, False]}
    what = "practical session takes place after all"
    _write(session, actor=actor, now=now, what=what, code_of=row, change=change)


def _set(
    session: Session, row: Practical, *, columns: dict[str, Any], people_ids: tuple[int, ...]
) -> None:
    for column, value in columns.items():
        setattr(row, column, value)
    # Who takes part stands in rows beside; this counts up the version of the session itself.
    flag_modified(row, "notes")
    session.flush()
    _write_people(session, row.id, people_ids)


def _to_change(session: Session, code: str) -> KnownPractical:
    known = get_practical(session, code=code)
    if known.cancelled:
        raise NotAccepted.at("", f"{known.code} is cancelled already.")
    if known.batches:
        sentence = f"Batches belong to {known.code}: it took place. Correct its day instead."
        raise NotAccepted.at("", sentence)
    return known


def _fitting(session: Session, entry: PracticalEntry, *, today: date) -> PracticalEntry:
    entry = accepted_practical(entry, today=today)
    problems = [
        Problem(field=field, sentence="Choose one from the list.")
        for name, model, field in _REFERENCES
        if getattr(entry, name) is not None and session.get(model, getattr(entry, name)) is None
    ]
    if any(session.get(Person, person_id) is None for person_id in entry.people_ids):
        problems.append(Problem(field="people", sentence="Choose people from the list."))
    if problems:
        raise NotAccepted(tuple(problems))
    return entry


def _columns(session: Session, entry: PracticalEntry) -> dict[str, Any]:
    return {
        **{name: getattr(entry, name) for name in _AS_TYPED},
        **{name: list(getattr(entry, name)) for name in _LINES},
        "cutting_type": entry.cutting_type.value if entry.cutting_type else "",
        "hormone_id": keep_hormone(session, hormone=entry.hormone) if entry.hormone else None,
    }


def _refuse_batches_before(session: Session, known: KnownPractical, *, held_on: date) -> None:
    first = session.scalar(
        select(func.min(Batch.stuck_on))
        .join(PracticalBatch, PracticalBatch.batch_id == Batch.id)
        .where(PracticalBatch.practical_id == known.id, Batch.voided_at.is_(None))
    )
    if first is not None and first < held_on:
        sentence = f"A batch of it was stuck on {day_long(first)}: it was held by then."
        raise NotAccepted.at("held_on", sentence)


def _people_changes(
    session: Session, *, before: tuple[int, ...], after: tuple[int, ...]
) -> dict[str, JsonValue]:
    if set(before) == set(after):
        return {}
    return {"people": [list(_keys(session, before)), list(_keys(session, after))]}


def _keys(session: Session, ids: tuple[int, ...]) -> tuple[str, ...]:
    return tuple(sorted(session.scalars(select(Person.key).where(Person.id.in_(ids)))))


def _write_people(session: Session, practical_id: int, ids: tuple[int, ...]) -> None:
    session.execute(delete(PracticalPerson).where(PracticalPerson.practical_id == practical_id))
    rows = [{"practical_id": practical_id, "person_id": person_id} for person_id in sorted(ids)]
    if rows:
        session.execute(insert(PracticalPerson), rows)


def _write(
    session: Session,
    *,
    actor: Actor,
    now: datetime,
    what: str,
    code_of: Practical,
    change: dict[str, JsonValue] | None = None,
) -> None:
    subject = f"practical session {practical_code(code_of.number)}"
    record_change(session, actor=actor, now=now, what=what, subject=subject, change=change or {})
