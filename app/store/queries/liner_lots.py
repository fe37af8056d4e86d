"""Reading liner lots: the list, one with its stages, and what became of a batch's rooted ones."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from typing import Any

from sqlalchemy import Row, Select, func, or_, select
from sqlalchemy.orm import Session, aliased

from app.domain.codes import parse_liner_lot_code
from app.domain.liner_stages import AfterRootingCounts, LotStanding, Stage
from app.domain.problems import NotFound
from app.store.models.batches import Batch, BatchFacts
from app.store.models.benches import Bench, BenchStay
from app.store.models.containers import Container
from app.store.models.liner_lots import LinerFacts, LinerLot, LinerLotFacts, LinerStage
from app.store.models.lost_causes import LostCause
from app.store.models.mixes import MixLot
from app.store.models.people import Person
from app.store.models.plant_names import PlantNameRow
from app.store.models.stock_plants import StockPlant


class LotsIn(StrEnum):
    """Which lots a list shows."""

    THERE = "there now"
    GROWING = "growing on"
    READY = "ready"
    EMPTY = "empty"
    ALL = "all"


@dataclass(frozen=True, kw_only=True)
class LotsWanted:
    """What a list of lots asks for: their state, words of the plant name, a bench."""

    which: LotsIn = LotsIn.THERE
    text: str = ""
    bench_id: int | None = None
    plant_name_id: int | None = None


@dataclass(frozen=True, kw_only=True)
class KnownLot:
    """A lot with its names and how it stands; `batch` is "" where it was merged."""

    id: int
    code: str
    version: int
    batch_id: int | None
    batch: str
    plant: str
    plant_name_id: int
    trays: int | None
    notes: str
    container: str
    bench: str
    bench_id: int | None
    standing: LotStanding

    @property
    def state(self) -> str:
        """In two or three words how it stands."""
        if self.standing.began_on is None:
            return "withdrawn"
        if self.standing.number == 0:
            return "empty"
        return "ready" if self.standing.ready_on else "growing on"


@dataclass(frozen=True, kw_only=True)
class KnownStage:
    """A stage with the names of what it leans on, "" where there is nothing."""

    id: int
    stage: Stage
    on: date
    number: int | None
    batch: str
    lot: str
    into: str
    container: str
    container_id: int | None
    mix_lot: str
    mix_lot_id: int | None
    litres: float | None
    cause: str
    cause_id: int | None
    grade: str
    stock_plant: str
    by: str
    person_id: int | None
    recorded_by_id: int | None
    made_at: datetime | None
    notes: str
    withdrawn: bool
    withdrawn_reason: str


def find_liner_lot_id(session: Session, *, code: str) -> int | None:
    """Return the id of the lot whose code was typed, forgivingly; None if there is none."""
    number = parse_liner_lot_code(code)
    if number is None:
        return None
    return session.scalar(select(LinerLot.id).where(LinerLot.running_number == number))


def get_liner_lot(session: Session, *, code: str) -> KnownLot:
    """Return one lot by its code.

    Raises:
        NotFound: there is none with this code.
    """
    query = _lots().where(LinerLot.running_number == (parse_liner_lot_code(code) or 0))
    row = session.execute(query).one_or_none()
    if row is None:
        raise NotFound(f"There is no liner lot {code}. Its code is like L-0001.")
    return _lot(row)


def list_liner_lots(
    session: Session, *, wanted: LotsWanted, after: int | None = None, limit: int = 100
) -> tuple[KnownLot, ...]:
    """Return lots, the newest first, those below running number `after` if given."""
    facts = LinerLotFacts
    conditions = {
        LotsIn.THERE: [facts.number > 0],
        LotsIn.GROWING: [facts.number > 0, facts.ready_on.is_(None)],
        LotsIn.READY: [facts.number > 0, facts.ready_on.is_not(None)],
        LotsIn.EMPTY: [facts.number == 0],
        LotsIn.ALL: [],
    }[wanted.which]
    query = _lots().where(*conditions)
    for word in wanted.text.split():
        query = query.where(
            or_(
                PlantNameRow.plain.icontains(word, autoescape=True),
                LinerLot.code.icontains(word, autoescape=True),
                Batch.code.icontains(word, autoescape=True),
            )
        )
    if wanted.bench_id is not None:
        query = query.where(Bench.id == wanted.bench_id)
    if wanted.plant_name_id is not None:
        query = query.where(PlantNameRow.id == wanted.plant_name_id)
    if after is not None:
        query = query.where(LinerLot.running_number < after)
    rows = session.execute(query.order_by(LinerLot.running_number.desc()).limit(limit))
    return tuple(_lot(row) for row in rows)


def list_lots_of_batch(session: Session, *, batch_id: int) -> tuple[KnownLot, ...]:
    """Return the lots potted up from a batch or split off those, by code; withdrawn ones not."""
    query = _lots().where(LinerLot.batch_id == batch_id, LinerLotFacts.began_on.is_not(None))
    return tuple(_lot(row) for row in session.execute(query.order_by(LinerLot.running_number)))


def list_lots_of_ids(session: Session, *, lot_ids: Iterable[int]) -> tuple[KnownLot, ...]:
    """Return these lots by code."""
    query = _lots().where(LinerLot.id.in_(list(lot_ids))).order_by(LinerLot.running_number)
    return tuple(_lot(row) for row in session.execute(query))


def list_stages(
    session: Session, *, lot_id: int | None = None, batch_id: int | None = None
) -> tuple[KnownStage, ...]:
    """Return the stages of a lot, also those that led into it, or of a batch, by day."""
    query = _stages().order_by(LinerStage.reached_on, LinerStage.position, LinerStage.id)
    if lot_id is not None:
        query = query.where(
            or_(LinerStage.liner_lot_id == lot_id, LinerStage.into_lot_id == lot_id)
        )
    if batch_id is not None:
        query = query.where(LinerStage.batch_id == batch_id)
    return tuple(_stage(row) for row in session.execute(query))


def get_stage(session: Session, *, stage_id: int) -> KnownStage:
    """Return one stage.

    Raises:
        NotFound: there is none with this id.
    """
    row = session.execute(_stages().where(LinerStage.id == stage_id)).one_or_none()
    if row is None:
        raise NotFound("There is no such stage of liners.")
    return _stage(row)


def after_rooting_by_batch(
    session: Session, *, batch_ids: Iterable[int]
) -> Mapping[int, AfterRootingCounts]:
    """Return what became of the rooted ones of each batch that anything is written down of."""
    table = LinerFacts.__table__
    rows = session.execute(select(table).where(table.c.batch_id.in_(list(batch_ids))))
    return {
        row.batch_id: AfterRootingCounts(taken=row.taken, ready=row.ready, lost=row.lost)
        for row in rows
    }


def rooted_left(session: Session, *, batch_id: int) -> int:
    """Return how many rooted ones of a batch are neither potted up nor lost."""
    query = (
        select(BatchFacts.rooted - func.coalesce(LinerFacts.taken, 0))
        .outerjoin(LinerFacts, LinerFacts.batch_id == BatchFacts.batch_id)
        .where(BatchFacts.batch_id == batch_id)
    )
    return session.scalar(query) or 0


def _lots() -> Select[*tuple[Any, ...]]:
    stay = (
        select(BenchStay.liner_lot_id, func.max(BenchStay.bench_id).label("bench_id"))
        .where(BenchStay.liner_lot_id.is_not(None), BenchStay.to_on.is_(None))
        .group_by(BenchStay.liner_lot_id)
        .subquery()
    )
    plant_id = func.coalesce(LinerLot.plant_name_id, Batch.plant_name_id)
    return (
        select(
            LinerLot.__table__.c.id,
            LinerLot.code,
            LinerLot.version,
            LinerLot.batch_id,
            LinerLot.trays,
            LinerLot.notes,
            Batch.code.label("batch"),
            PlantNameRow.id.label("plant_name_id"),
            PlantNameRow.plain.label("plant"),
            Container.name.label("container"),
            Bench.id.label("bench_id"),
            Bench.name.label("bench"),
            *(getattr(LinerLotFacts, name) for name in _STANDING),
        )
        .join(LinerLotFacts, LinerLotFacts.liner_lot_id == LinerLot.id)
        .outerjoin(Batch, Batch.id == LinerLot.batch_id)
        .join(PlantNameRow, PlantNameRow.id == plant_id)
        .outerjoin(Container, Container.id == LinerLotFacts.container_id)
        .outerjoin(stay, stay.c.liner_lot_id == LinerLot.id)
        .outerjoin(Bench, Bench.id == stay.c.bench_id)
    )


_STANDING = tuple(LotStanding.__dataclass_fields__)


def _lot(row: Row[*tuple[Any, ...]]) -> KnownLot:
    values = {name: getattr(row, name) for name in _STANDING}
    values["stage"] = Stage(row.stage) if row.stage else None
    return KnownLot(
        id=row.id,
        code=row.code,
        version=row.version,
        batch_id=row.batch_id,
        batch=row.batch or "",
        plant=row.plant,
        plant_name_id=row.plant_name_id,
        trays=row.trays,
        notes=row.notes,
        container=row.container or "",
        bench=row.bench or "",
        bench_id=row.bench_id,
        standing=LotStanding(**values),
    )


def _stages() -> Select[*tuple[Any, ...]]:
    into = aliased(LinerLot)
    return (
        select(
            LinerStage.__table__,
            Batch.code.label("batch"),
            LinerLot.code.label("lot"),
            into.code.label("into"),
            Container.name.label("container"),
            MixLot.code.label("mix_lot"),
            LostCause.name.label("cause"),
            StockPlant.code.label("stock_plant"),
            Person.name.label("by"),
        )
        .outerjoin(Batch, Batch.id == LinerStage.batch_id)
        .outerjoin(LinerLot, LinerLot.id == LinerStage.liner_lot_id)
        .outerjoin(into, into.id == LinerStage.into_lot_id)
        .outerjoin(Container, Container.id == LinerStage.container_id)
        .outerjoin(MixLot, MixLot.id == LinerStage.mix_lot_id)
        .outerjoin(LostCause, LostCause.id == LinerStage.lost_cause_id)
        .outerjoin(StockPlant, StockPlant.id == LinerStage.stock_plant_id)
        .outerjoin(Person, Person.id == LinerStage.person_id)
    )


def _stage(row: Row[*tuple[Any, ...]]) -> KnownStage:
    texts = ("batch", "lot", "into", "container", "mix_lot", "cause", "stock_plant", "by")
    same = (
        "id", "number", "container_id", "mix_lot_id", "litres", "grade", "person_id",
        "recorded_by_id", "notes", "withdrawn_reason",
    )  # fmt: skip
    found = row._mapping
    named: dict[str, Any] = {name: found[name] or "" for name in texts}
    named |= {name: found[name] for name in same}
    return KnownStage(
        stage=Stage(row.stage),
        on=row.reached_on,
        cause_id=row.lost_cause_id,
        made_at=row.made_at,
        withdrawn=bool(row.withdrawn),
        **named,
    )
