"""Reading batches in the words of a notebook sheet: by what a sheet calls them, or in key order.

Everything is read for many batches at once, in a few queries for each chunk of them.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, Final

from sqlalchemy import ColumnElement, Row, Select, and_, case, or_, select
from sqlalchemy.orm import Session, aliased

from app.domain.cutting_types import Cut, CuttingType
from app.domain.hormones import Hormone
from app.domain.notebook import BatchWords
from app.domain.notebook_comparison import KeptBatch, KeptCheck
from app.domain.outcomes import CheckCounts, CheckKind, Ending, Loss
from app.domain.plant_names import kept_plant_name
from app.store.models.batches import Batch, BatchFacts, BatchSource
from app.store.models.benches import Bench
from app.store.models.checks import Check, CheckLoss, CheckVersion
from app.store.models.containers import Container
from app.store.models.hormones import HormoneRow
from app.store.models.lost_causes import LostCause
from app.store.models.mixes import Mix, MixVersion
from app.store.models.people import Person
from app.store.models.plant_names import PlantNameRow
from app.store.models.stock_plants import StockPlant
from app.store.queries.restuck import restuck_by_batch

CHUNK: Final = 500


@dataclass(frozen=True, kw_only=True, slots=True)
class BatchOnDay:
    """A live batch by plant, day and number, to see whether another sheet holds it too."""

    code: str
    plant: str
    stuck_on: date
    stuck: int
    reference: str
    source: str


def find_kept_batches(
    session: Session, *, source: str, references: Sequence[str], codes: Sequence[str]
) -> tuple[KeptBatch, ...]:
    """Return the batches that the sheet called `source` may mean, those not void first.

    They bear one of the references in that sheet, or one of our own codes.
    """
    query = select(Batch.id).where(
        or_(
            and_(Batch.reference_source == source, Batch.own_reference.in_(references)),
            Batch.code.in_(codes),
        )
    )
    found = read_kept_batches(session, batch_ids=session.scalars(query).all())
    return tuple(sorted(found, key=lambda batch: batch.voided))


def next_batch_ids(session: Session, *, after: int, limit: int = CHUNK) -> tuple[int, ...]:
    """Return the ids of the next live batches in the order of their keys."""
    query = (
        select(Batch.id)
        .where(Batch.id > after, Batch.voided_at.is_(None))
        .order_by(Batch.id)
        .limit(limit)
    )
    return tuple(session.scalars(query))


def list_batches_on_days(session: Session, *, days: Collection[date]) -> tuple[BatchOnDay, ...]:
    """Return the live batches that were stuck on one of these days."""
    query = (
        select(
            Batch.code,
            PlantNameRow.plain,
            BatchFacts.stuck_on,
            BatchFacts.stuck,
            Batch.own_reference,
            Batch.reference_source,
        )
        .join_from(BatchFacts, Batch, Batch.id == BatchFacts.batch_id)
        .join(PlantNameRow, PlantNameRow.id == BatchFacts.plant_name_id)
        .where(BatchFacts.stuck_on.in_(days), BatchFacts.voided == 0)
    )
    return tuple(
        BatchOnDay(
            code=row.code,
            plant=row.plain,
            stuck_on=row.stuck_on,
            stuck=row.stuck,
            reference=row.own_reference,
            source=row.reference_source,
        )
        for row in session.execute(query)
    )


def read_kept_batches(session: Session, *, batch_ids: Iterable[int]) -> tuple[KeptBatch, ...]:
    """Return these batches with their checks, withdrawn ones too, by id."""
    wanted = sorted(set(batch_ids))
    sources = _stock_plants(session, wanted)
    checks = _checks(session, wanted)
    moved = restuck_by_batch(session, batch_ids=wanted)
    query = _batches().where(Batch.id.in_(wanted)).order_by(Batch.id)
    return tuple(
        replace(
            _kept(row, sources=sources.get(row.id, ()), checks=checks.get(row.id, ())),
            restuck=moved.get(row.id, ()),
        )
        for row in session.execute(query)
    )


def _batches() -> Select[*tuple[Any, ...]]:
    return (
        select(
            *Batch.__table__.columns,
            PlantNameRow.plain.label("plant"),
            HormoneRow.substance,
            HormoneRow.form,
            HormoneRow.ppm,
            Mix.name.label("mix"),
            Container.name.label("container"),
            Bench.name.label("bench"),
            _name_of(Person).label("person"),
        )
        .join_from(Batch, PlantNameRow, PlantNameRow.id == Batch.plant_name_id)
        .outerjoin(HormoneRow, HormoneRow.id == Batch.hormone_id)
        .outerjoin(MixVersion, MixVersion.id == Batch.mix_version_id)
        .outerjoin(Mix, Mix.id == MixVersion.mix_id)
        .outerjoin(Container, Container.id == Batch.container_id)
        .outerjoin(Bench, Bench.id == Batch.bench_id)
        .outerjoin(Person, Person.id == Batch.stuck_by_id)
    )


def _name_of(person: Any) -> ColumnElement[str]:
    """Return the name of a person, blank where it was erased."""
    return case((person.erased_at.is_(None), person.name), else_="")


def _kept(
    row: Row[*tuple[Any, ...]], *, sources: tuple[str, ...], checks: tuple[KeptCheck, ...]
) -> KeptBatch:
    words = BatchWords(
        plant=kept_plant_name(row.plant),
        stock_plant=sources,
        taken_on=row.taken_on,
        stuck_on=row.stuck_on,
        stuck=row.stuck,
        cutting_type=CuttingType(row.cutting_type) if row.cutting_type else None,
        cut=Cut(row.cut) if row.cut else None,
        hormone=_hormone(row),
        mix=row.mix or "",
        container=row.container or "",
        per_plug=row.per_place,
        bench=row.bench or "",
        cover=row.cover,
        bottom_heat_c=row.bottom_heat_c,
        person=row.person or "",
        note=row.notes,
    )
    return KeptBatch(
        id=row.id,
        code=row.code,
        reference=row.own_reference,
        source=row.reference_source,
        words=words,
        checks=checks,
        voided=row.voided_at is not None,
    )


def _hormone(row: Row[*tuple[Any, ...]]) -> Hormone | None:
    if row.substance is None:
        return None
    return Hormone(substance=row.substance, form=row.form, ppm=None if row.ppm < 0 else row.ppm)


def _stock_plants(session: Session, batch_ids: Sequence[int]) -> Mapping[int, tuple[str, ...]]:
    found: dict[int, list[str]] = {}
    query = (
        select(BatchSource.batch_id, StockPlant.code)
        .join(StockPlant, StockPlant.id == BatchSource.stock_plant_id)
        .where(BatchSource.batch_id.in_(batch_ids))
        .order_by(BatchSource.batch_id, BatchSource.position)
    )
    for batch_id, code in session.execute(query):
        found.setdefault(batch_id, []).append(code)
    return {batch_id: tuple(codes) for batch_id, codes in found.items()}


def _checks(session: Session, batch_ids: Sequence[int]) -> Mapping[int, tuple[KeptCheck, ...]]:
    newest = and_(CheckVersion.check_id == Check.id, CheckVersion.number == Check.version)
    checker = aliased(Person)
    query = (
        select(
            Check.id,
            Check.batch_id,
            Check.checked_on,
            Check.running,
            Check.withdrawn,
            CheckVersion.id.label("version_id"),
            CheckVersion.kind,
            CheckVersion.rooted,
            CheckVersion.callused,
            CheckVersion.sample_of,
            CheckVersion.sample_rooted,
            CheckVersion.ending,
            CheckVersion.unrooted_counted,
            CheckVersion.note,
            _name_of(checker).label("checked_by"),
        )
        .join_from(Check, CheckVersion, newest)
        .outerjoin(checker, checker.id == CheckVersion.checked_by_id)
        .where(Check.batch_id.in_(batch_ids))
        .order_by(Check.batch_id, Check.checked_on, Check.running)
    )
    rows = session.execute(query).all()
    losses = _losses(session, batch_ids)
    found: dict[int, list[KeptCheck]] = {}
    for row in rows:
        kept = _kept_check(row, lost=losses.get(row.version_id, ()))
        found.setdefault(row.batch_id, []).append(kept)
    return {batch_id: tuple(checks) for batch_id, checks in found.items()}


def _losses(session: Session, batch_ids: Sequence[int]) -> Mapping[int, tuple[Loss, ...]]:
    query = (
        select(CheckLoss.check_version_id, LostCause.name, CheckLoss.number)
        .join_from(Check, CheckVersion, CheckVersion.check_id == Check.id)
        .join(CheckLoss, CheckLoss.check_version_id == CheckVersion.id)
        .join(LostCause, LostCause.id == CheckLoss.lost_cause_id)
        .where(Check.batch_id.in_(batch_ids), CheckVersion.number == Check.version)
        .order_by(CheckLoss.check_version_id, LostCause.position, LostCause.id)
    )
    found: dict[int, list[Loss]] = {}
    for version_id, cause, number in session.execute(query):
        found.setdefault(version_id, []).append(Loss(cause=cause, number=number))
    return {version_id: tuple(losses) for version_id, losses in found.items()}


def _kept_check(row: Row[*tuple[Any, ...]], *, lost: tuple[Loss, ...]) -> KeptCheck:
    kind = CheckKind(row.kind)
    is_sample = kind is CheckKind.SAMPLE
    counts = CheckCounts(
        checked_on=row.checked_on,
        running=row.running,
        kind=kind,
        rooted=(row.sample_rooted or 0) if is_sample else row.rooted,
        lost=lost,
        callused=row.callused,
        looked=row.sample_of if is_sample else None,
        ending=Ending(row.ending),
        withdrawn=bool(row.withdrawn),
    )
    return KeptCheck(
        id=row.id,
        counts=counts,
        unrooted_counted=row.unrooted_counted,
        checked_by=row.checked_by or "",
        note=row.note,
    )
