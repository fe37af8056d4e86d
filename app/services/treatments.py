"""Treatments and hygiene: writing one down, and withdrawing a wrong one."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import func, insert, select
from sqlalchemy.orm import Session

from app.domain.codes import treatment_code
from app.domain.people import Actor
from app.domain.problems import NotAccepted, NotFound, Problem
from app.domain.reasons import accepted_reason
from app.domain.treatments import (
    TreatmentEntry,
    accepted_treatment,
    local_day,
    refuse_foreign_treatment,
)
from app.services.history import JsonValue, record_change
from app.services.treatment_reentries import restore_reentries, set_reentries
from app.store.models.batches import Batch
from app.store.models.benches import Bench
from app.store.models.stock_plants import StockPlant
from app.store.models.treatments import Treatment, TreatmentBatch, TreatmentBench
from app.store.queries.treatments import stock_plants_standing


@dataclass(frozen=True, kw_only=True)
class RecordedTreatment:
    """A treatment as the program knows it from now on."""

    id: int
    code: str


def record_treatment(
    session: Session, *, actor: Actor, now: datetime, zone: str, entry: TreatmentEntry
) -> RecordedTreatment:
    """Write a treatment down, put later the re-entry times it reaches, and return its code.

    `zone` is the nursery's: it decides the day of the treatment.

    Raises:
        NotAccepted: the entry breaks a rule, or names a place that cannot be.
    """
    entry = accepted_treatment(entry, now=now)
    begun_on = local_day(entry.begun_at, zone=zone)
    _refuse_odd_places(session, entry, begun_on=begun_on)
    number = (session.scalar(select(func.max(Treatment.number))) or 0) + 1
    row = Treatment(
        number=number,
        kind=entry.kind.value,
        what=entry.what,
        rate=entry.rate,
        target=entry.target,
        way=entry.way,
        begun_at=entry.begun_at,
        begun_on=begun_on,
        reentry_at=entry.reentry_at,
        by_id=entry.by_id,
        recorded_by_id=actor.person_id,
        made_at=now,
        notes=entry.notes,
    )
    session.add(row)
    session.flush()
    _write_places(session, row, entry)
    code = treatment_code(number)
    _write(session, actor=actor, now=now, what=f"{entry.kind.value} recorded", code=code)
    return RecordedTreatment(id=row.id, code=code)


def withdraw_treatment(
    session: Session,
    *,
    actor: Actor,
    today: date,
    now: datetime,
    treatment_id: int,
    reason: str,
) -> None:
    """Take a treatment back that was entered by mistake; it stays readable and reaches nothing.

    Raises:
        NotAccepted: no reason is given, or it is withdrawn already.
        NotAllowed: it is somebody else's entry, or an own one of long ago.
        NotFound: there is no such treatment.
    """
    row = session.get(Treatment, treatment_id)
    if row is None:
        raise NotFound("There is no such treatment.")
    refuse_foreign_treatment(
        actor, recorded_by_id=row.recorded_by_id, made_on=row.made_at.date(), today=today
    )
    code = treatment_code(row.number)
    if row.withdrawn_at is not None:
        raise NotAccepted.at("reason", f"{code} is withdrawn already.")
    tidy = accepted_reason(reason, missing="Say why it is withdrawn, for whoever reads it.")
    row.withdrawn_at, row.withdrawn_by_id, row.withdraw_reason = now, actor.person_id, tidy
    restore_reentries(session, treatment=row)
    change: dict[str, JsonValue] = {"withdrawn": [False, True], "reason": [None, tidy]}
    _write(session, actor=actor, now=now, what="treatment withdrawn", code=code, change=change)


def _write(
    session: Session,
    *,
    actor: Actor,
    now: datetime,
    what: str,
    code: str,
    change: dict[str, JsonValue] | None = None,
) -> None:
    record_change(
        session, actor=actor, now=now, what=what, subject=f"treatment {code}", change=change or {}
    )


def _write_places(session: Session, row: Treatment, entry: TreatmentEntry) -> None:
    benches = [{"treatment_id": row.id, "bench_id": one} for one in sorted(set(entry.bench_ids))]
    batches = [{"treatment_id": row.id, "batch_id": one} for one in sorted(set(entry.batch_ids))]
    if benches:
        session.execute(insert(TreatmentBench), benches)
    if batches:
        session.execute(insert(TreatmentBatch), batches)
    chosen = set(entry.stock_plant_ids)
    standing = stock_plants_standing(session, bench_ids=entry.bench_ids, on=row.begun_on)
    set_reentries(session, treatment=row, stock_plant_ids=chosen | set(standing), chosen=chosen)


def _refuse_odd_places(session: Session, entry: TreatmentEntry, *, begun_on: date) -> None:
    problems = [
        *_absent(session, Bench, entry.bench_ids, field="benches"),
        *_odd_batches(session, entry.batch_ids, begun_on=begun_on),
        *_absent(session, StockPlant, entry.stock_plant_ids, field="stock_plants"),
    ]
    if problems:
        raise NotAccepted(tuple(problems))


def _absent(
    session: Session, model: type[Bench | StockPlant], ids: tuple[int, ...], *, field: str
) -> Iterator[Problem]:
    if any(session.get(model, one) is None for one in ids):
        yield Problem(field=field, sentence="Choose only what is in the log.")


def _odd_batches(session: Session, ids: tuple[int, ...], *, begun_on: date) -> Iterator[Problem]:
    for batch_id in ids:
        batch = session.get(Batch, batch_id)
        if batch is None or batch.voided_at is not None:
            yield Problem(field="batches", sentence="Name batches that are not void.")
        elif batch.stuck_on > begun_on:
            sentence = f"{batch.code} was stuck after this treatment: leave it out."
            yield Problem(field="batches", sentence=sentence)
