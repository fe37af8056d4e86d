"""Stages of liners: writing them down, correcting and withdrawing them; counts always add up."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date, datetime
from typing import Any, Final

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.domain.batch_rights import may_correct_batch
from app.domain.days import day_long
from app.domain.liner_entries import StageEntry, accepted_stage
from app.domain.liner_stages import PARTLY, Stage, StagesDoNotAddUp, stage_words
from app.domain.people import Actor
from app.domain.problems import NotAccepted, NotAllowed, NotFound
from app.domain.reasons import accepted_reason
from app.services.corrections import plain_value
from app.services.history import JsonValue, differences, record_change
from app.services.liner_facts import refresh_liner_facts
from app.services.liner_stays import correct_first_lot_stay
from app.services.stock_plants import discard_stock_plant
from app.store.models.batches import Batch
from app.store.models.benches import Bench
from app.store.models.containers import Container
from app.store.models.liner_lots import LinerLot, LinerStage
from app.store.models.lost_causes import LostCause
from app.store.models.mixes import MixLot
from app.store.models.people import Person
from app.store.models.stock_plants import StockPlant
from app.store.queries.dispatches import find_dispatch_of_stage

LONGEST_REASON: Final = 200
_WHY: Final = "Say in a few words why, such as miscounted a tray."

_LINKS: Final = ("batch_id", "liner_lot_id", "into_lot_id", "stock_plant_id")


def open_batch(session: Session, *, batch_id: int) -> Batch:
    """Return the row of a batch that stages may be entered of.

    Raises:
        NotAccepted: it is void.
        NotFound: there is no such batch.
    """
    row = session.get(Batch, batch_id)
    if row is None:
        raise NotFound("There is no such batch.")
    if row.voided_at is not None:
        raise NotAccepted.at("", f"{row.code} is void: reinstate it first.")
    return row


def get_lot_row(session: Session, *, lot_id: int) -> LinerLot:
    """Return the row of a lot.

    Raises:
        NotFound: there is no such lot.
    """
    row = session.get(LinerLot, lot_id)
    if row is None:
        raise NotFound("There is no such liner lot.")
    return row


def record_batch_stage(
    session: Session,
    *,
    actor: Actor,
    today: date,
    now: datetime,
    batch_id: int,
    entry: StageEntry,
) -> int:
    """Write down that weaning was begun, or that rooted ones were lost before potting up.

    Returns the id of the stage.

    Raises:
        NotAccepted: a rule does not hold, or fewer rooted ones were left that day.
        NotFound: there is no such batch.
    """
    batch = open_batch(session, batch_id=batch_id)
    if entry.stage not in {Stage.WEANING, Stage.LOST}:
        raise NotAccepted.at("stage", "Pot them up first: this is said of a liner lot.")
    entry = accepted_stage(entry, today=today)
    row = stage_row(session, actor=actor, now=now, entry=entry, batch_id=batch.id)
    return keep_stages(session, actor=actor, now=now, rows=[row])[0]


def stage_row(
    session: Session, *, actor: Actor, now: datetime, entry: StageEntry, **links: int | None
) -> LinerStage:
    """Return a new row for an accepted entry, not yet stored; `links` say of what and into what.

    Raises:
        NotAccepted: a record it names does not exist.
    """
    _refuse_unknown(session, entry)
    return LinerStage(
        stage=entry.stage.value,
        reached_on=entry.on,
        number=entry.number if entry.stage.counts else None,
        container_id=entry.container_id,
        mix_lot_id=entry.mix_lot_id,
        litres=entry.litres,
        lost_cause_id=entry.cause_id,
        grade=entry.grade,
        person_id=entry.person_id,
        notes=entry.notes,
        recorded_by_id=actor.person_id,
        made_at=now,
        **links,
    )


def keep_stages(
    session: Session, *, actor: Actor, now: datetime, rows: Sequence[LinerStage]
) -> tuple[int, ...]:
    """Store new stages, bring all sums into step, write the history, and return their ids.

    Raises:
        NotAccepted: they do not fit what was there, or later stages would no longer add up.
    """
    position = session.scalar(select(func.max(LinerStage.position))) or 0
    for place, row in enumerate(rows, start=position + 1):
        row.position = place
    session.add_all(rows)
    session.flush()
    _settle(session, rows, new={row.id for row in rows})
    for row in rows:
        told: dict[str, JsonValue] = {"stage": [None, words_of(session, row=row)]}
        told |= {"on": [None, row.reached_on.isoformat()]}
        for subject in subjects_of(session, row=row):
            record_change(
                session, actor=actor, now=now, what="stage of liners", subject=subject, change=told
            )
    return tuple(row.id for row in rows)


def correct_stage(
    session: Session,
    *,
    actor: Actor,
    today: date,
    now: datetime,
    stage_id: int,
    entry: StageEntry,
    reason: str,
) -> int:
    """Put a stage right: the old one is withdrawn, and a new one takes its place of the day.

    Returns the id of the new one.

    Raises:
        NotAccepted: no reason, a rule does not hold, or other stages would no longer add up.
        NotAllowed: it is somebody else's entry, or an own one of long ago.
        NotFound: there is no such stage.
    """
    row = _row_to_change(session, stage_id, actor=actor, today=today)
    tidy = accepted_reason(reason, missing=_WHY, longest=LONGEST_REASON)
    entry = accepted_stage(replace(entry, stage=Stage(row.stage)), today=today)
    _refuse_other_number(entry, row=row)
    links = {name: getattr(row, name) for name in (*_LINKS, "position")}
    new = stage_row(session, actor=actor, now=now, entry=entry, **links)
    change = differences(_told(session, row), after=_told(session, new))
    if not change:
        return row.id
    _set_withdrawn(row, now=now, reason=tidy)
    session.add(new)
    session.flush()
    _settle(session, [row, new], new={new.id})
    if new.into_lot_id is not None and new.reached_on != row.reached_on:
        correct_first_lot_stay(session, lot_id=new.into_lot_id, from_on=new.reached_on)
    change |= {"reason": [None, tidy]}
    what = f"{new.stage} corrected"
    for subject in subjects_of(session, row=new):
        record_change(session, actor=actor, now=now, what=what, subject=subject, change=change)
    return new.id


def withdraw_stages(
    session: Session,
    *,
    actor: Actor,
    today: date,
    now: datetime,
    stage_ids: Sequence[int],
    reason: str,
) -> None:
    """Take stages out that were entered by mistake; they stay readable and count nowhere.

    Stock plants that were kept by one of them are discarded.

    Raises:
        NotAccepted: no reason, one is withdrawn already, or later stages lean on it.
        NotAllowed: one is somebody else's entry, or an own one of long ago.
        NotFound: there is no such stage.
    """
    rows = [_row_to_change(session, one, actor=actor, today=today) for one in stage_ids]
    tidy = accepted_reason(reason, missing=_WHY, longest=LONGEST_REASON)
    for row in rows:
        _set_withdrawn(row, now=now, reason=tidy)
    session.flush()
    _settle(session, rows, new=set())
    for row in rows:
        change: dict[str, JsonValue] = {
            "stage": [words_of(session, row=row), None],
            "reason": [None, tidy],
        }
        for subject in subjects_of(session, row=row):
            what = "stage of liners withdrawn"
            record_change(session, actor=actor, now=now, what=what, subject=subject, change=change)
        _discard_kept(session, row, actor=actor, today=today, now=now, reason=tidy)


def may_change_stage(
    actor: Actor, *, recorded_by_id: int | None, made_on: date | None, today: date
) -> bool:
    """Return whether the person may correct or withdraw a stage entered by somebody on a day."""
    entered = made_on or date.min
    return may_correct_batch(actor, recorded_by_id=recorded_by_id, made_on=entered, today=today)


def refuse_void(session: Session, *, batch_id: int) -> None:
    """Refuse that a batch becomes void while anything after rooting is written down of it.

    Raises:
        NotAccepted: something is.
    """
    query = select(LinerStage).where(LinerStage.batch_id == batch_id, LinerStage.withdrawn == 0)
    row = session.scalars(query.order_by(LinerStage.position)).first()
    if row is not None:
        sentence = (
            f"Something is written down after its rooting, {words_of(session, row=row)} on "
            f"{day_long(row.reached_on)}: withdraw that first."
        )
        raise NotAccepted.at("reason", sentence)


def refuse_other_plant(session: Session, *, batch_id: int) -> None:
    """Refuse another plant name for a batch whose plants are in a merged lot of that name.

    Raises:
        NotAccepted: they are.
    """
    query = (
        select(LinerLot.code)
        .join(LinerStage, LinerStage.liner_lot_id == LinerLot.id)
        .where(
            LinerLot.batch_id == batch_id,
            LinerStage.stage == Stage.MERGED.value,
            LinerStage.withdrawn == 0,
        )
    )
    code = session.scalar(query.limit(1))
    if code is not None:
        sentence = f"{code} was merged with lots of its plant name: withdraw that merge first."
        raise NotAccepted.at("plant", sentence)


def words_of(session: Session, *, row: LinerStage) -> str:
    """Return a stage in words, such as "12 lost, grey mould"."""
    into = session.get(LinerLot, row.into_lot_id) if row.into_lot_id else None
    cause = session.get(LostCause, row.lost_cause_id) if row.lost_cause_id else None
    more = cause.name if cause else row.grade
    return stage_words(
        Stage(row.stage), number=row.number, into=into.code if into else "", more=more
    )


def subjects_of(session: Session, *, row: LinerStage) -> tuple[str, ...]:
    """Return the records whose history tells of a stage."""
    lots = [session.get_one(LinerLot, one) for one in (row.liner_lot_id, row.into_lot_id) if one]
    batch = session.get_one(Batch, row.batch_id) if row.batch_id else None
    told = [f"batch {batch.code}"] if batch else []
    return (*told, *(f"liner lot {lot.code}" for lot in lots))


def _settle(session: Session, rows: Iterable[LinerStage], *, new: set[int]) -> None:
    touched = list(rows)
    batches = {row.batch_id for row in touched if row.batch_id is not None}
    lots = {
        one for row in touched for one in (row.liner_lot_id, row.into_lot_id) if one is not None
    }
    try:
        refresh_liner_facts(session, batch_ids=batches, lot_ids=lots)
    except StagesDoNotAddUp as refusal:
        event = refusal.event
        if event.id in new:
            raise
        words = words_of(session, row=session.get_one(LinerStage, event.id))
        sentence = (
            f"What was written down for {day_long(event.on)}, {words}, would no longer add up. "
            f"Correct or withdraw that first. {refusal}"
        )
        raise NotAccepted.at("number" if new else "reason", sentence) from refusal


def _row_to_change(session: Session, stage_id: int, *, actor: Actor, today: date) -> LinerStage:
    row = session.get(LinerStage, stage_id)
    if row is None:
        raise NotFound("There is no such stage.")
    made_on = row.made_at.date() if row.made_at else None
    if not may_change_stage(actor, recorded_by_id=row.recorded_by_id, made_on=made_on, today=today):
        raise NotAllowed(
            "You can correct what you entered yourself today or yesterday. Ask the head "
            "propagator to correct this."
        )
    if row.withdrawn:
        raise NotAccepted.at("", "This stage is withdrawn already.")
    dispatch = find_dispatch_of_stage(session, stage_id=stage_id)
    if dispatch:
        raise NotAccepted.at("", f"It belongs to dispatch {dispatch}: withdraw that instead.")
    return row


def _refuse_other_number(entry: StageEntry, *, row: LinerStage) -> None:
    if entry.stage in PARTLY and entry.number is not None:
        raise NotAccepted.at("number", "This is said of the whole lot: leave the number blank.")
    if entry.stage is Stage.KEPT and entry.number != row.number:
        sentence = "They became stock plants: withdraw this stage, then enter it with the number."
        raise NotAccepted.at("number", sentence)


def _set_withdrawn(row: LinerStage, *, now: datetime, reason: str) -> None:
    row.withdrawn, row.withdrawn_at, row.withdrawn_reason = 1, now, reason


def _discard_kept(
    session: Session, row: LinerStage, *, actor: Actor, today: date, now: datetime, reason: str
) -> None:
    plant = session.get(StockPlant, row.stock_plant_id) if row.stock_plant_id else None
    if plant is None or plant.discarded_on is not None:
        return
    discard_stock_plant(
        session,
        actor=actor,
        now=now,
        today=today,
        stock_plant_id=plant.id,
        version=plant.version,
        discarded_on=today,
        reason=reason,
    )


def _told(session: Session, row: LinerStage) -> dict[str, JsonValue]:
    """Return what a stage says, other records by their names."""
    named: dict[str, tuple[Any, int | None, str]] = {
        "container": (Container, row.container_id, "name"),
        "mix_lot": (MixLot, row.mix_lot_id, "code"),
        "cause": (LostCause, row.lost_cause_id, "name"),
        "by": (Person, row.person_id, "key"),
    }
    told = {
        field: None if key is None else plain_value(getattr(session.get_one(model, key), label))
        for field, (model, key, label) in named.items()
    }
    plain = ("reached_on", "number", "litres", "grade", "notes")
    return told | {name: plain_value(getattr(row, name)) for name in plain}


def _refuse_unknown(session: Session, entry: StageEntry) -> None:
    pairs: tuple[tuple[str, Any, int | None], ...] = (
        ("container", Container, entry.container_id),
        ("mix_lot", MixLot, entry.mix_lot_id),
        ("cause", LostCause, entry.cause_id),
        ("bench", Bench, entry.bench_id),
        ("by", Person, entry.person_id),
    )
    for field, model, key in pairs:
        if key is not None and session.get(model, key) is None:
            raise NotAccepted.at(field, "Choose one from the list.")
