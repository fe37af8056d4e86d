"""Reading dispatches: one with its lines, all of them, and what was sent of certain batches."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import Row, Select, func, or_, select
from sqlalchemy.orm import Session, aliased

from app.domain.codes import dispatch_code, parse_dispatch_code
from app.domain.liner_contents import batches_by_lot
from app.domain.liner_stages import Stage
from app.domain.problems import NotFound
from app.store.models.batches import Batch
from app.store.models.dispatches import Dispatch, DispatchLine
from app.store.models.liner_lots import LinerLot, LinerStage
from app.store.models.people import Person
from app.store.models.plant_names import PlantNameRow
from app.store.queries.liner_families import read_family
from app.store.queries.liner_lots import list_lots_of_ids


@dataclass(frozen=True, kw_only=True)
class KnownLine:
    """So many plants of a lot in a dispatch."""

    lot: str
    plant: str
    number: int
    stage_ids: tuple[int, ...]


@dataclass(frozen=True, kw_only=True)
class KnownDispatch:
    """A dispatch with its lines; `plants` are all of them together."""

    id: int
    number: int
    version: int
    sent_on: date
    to_name: str
    reference: str
    notes: str
    recorded_by: str
    withdrawn_at: datetime | None
    withdrawn_by: str
    withdraw_reason: str
    plants: int

    @property
    def code(self) -> str:
        """Its code, such as G-0001."""
        return dispatch_code(self.number)


@dataclass(frozen=True, kw_only=True)
class SentPlants:
    """Plants that left a lot: when, to whom (blank where nobody said), and of which batches."""

    dispatch: str
    sent_on: date
    to_name: str
    reference: str
    lot: str
    number: int
    batch_ids: frozenset[int]


@dataclass(frozen=True, kw_only=True)
class LotHere:
    """A liner lot that still holds plants, where it stands, and of which batches they are."""

    code: str
    plant: str
    number: int
    bench: str
    batch_ids: frozenset[int]


@dataclass(frozen=True, kw_only=True)
class Whereabouts:
    """Where the potted-up plants of some batches are: in lots here, and sent out."""

    here: tuple[LotHere, ...]
    sent: tuple[SentPlants, ...]

    @property
    def batch_ids_here(self) -> frozenset[int]:
        """The batches of which a lot here holds plants."""
        return frozenset(batch_id for lot in self.here for batch_id in lot.batch_ids)


def get_dispatch(session: Session, *, code: str) -> KnownDispatch:
    """Return the dispatch of this code.

    Raises:
        NotFound: there is none.
    """
    number = parse_dispatch_code(code) or 0
    row = session.execute(_dispatches().where(Dispatch.number == number)).one_or_none()
    if row is None:
        raise NotFound(f"There is no dispatch {code}. Its code is like G-0001.")
    return _dispatch(row)


def list_dispatches(
    session: Session, *, text: str = "", before: int | None = None, limit: int = 50
) -> tuple[KnownDispatch, ...]:
    """Return dispatches, the newest first; `text` is looked for in name and reference."""
    query = _dispatches().order_by(Dispatch.number.desc()).limit(limit)
    for word in text.split():
        query = query.where(
            or_(
                Dispatch.to_name.icontains(word, autoescape=True),
                Dispatch.reference.icontains(word, autoescape=True),
            )
        )
    if before is not None:
        query = query.where(Dispatch.number < before)
    return tuple(_dispatch(row) for row in session.execute(query))


def list_dispatch_lines(session: Session, *, dispatch_id: int) -> tuple[KnownLine, ...]:
    """Return the lines of a dispatch in their order."""
    query = (
        select(LinerLot.code, PlantNameRow.plain, LinerStage.number, DispatchLine.made)
        .join_from(DispatchLine, LinerStage, LinerStage.id == DispatchLine.liner_stage_id)
        .join(LinerLot, LinerLot.id == LinerStage.liner_lot_id)
        .outerjoin(Batch, Batch.id == LinerLot.batch_id)
        .join(
            PlantNameRow,
            PlantNameRow.id == func.coalesce(Batch.plant_name_id, LinerLot.plant_name_id),
        )
        .where(DispatchLine.dispatch_id == dispatch_id)
        .order_by(DispatchLine.position)
    )
    return tuple(
        KnownLine(lot=row.code, plant=row.plain, number=row.number or 0, stage_ids=tuple(row.made))
        for row in session.execute(query)
    )


def find_dispatch_of_stage(session: Session, *, stage_id: int) -> str:
    """Return the code of the dispatch that stands and that a stage belongs to, "" for none."""
    number = session.scalar(
        select(Dispatch.number)
        .join(DispatchLine, DispatchLine.dispatch_id == Dispatch.id)
        .where(DispatchLine.liner_stage_id == stage_id, Dispatch.withdrawn == 0)
    )
    return dispatch_code(number) if number else ""


def get_whereabouts(session: Session, *, batch_ids: Iterable[int]) -> Whereabouts:
    """Return where the potted-up plants of these batches are, those in merged lots among them."""
    wanted = frozenset(batch_ids)
    family = read_family(session, batch_ids=wanted)
    contents = {
        lot_id: batches
        for lot_id, batches in batches_by_lot(family.lots, events=family.events).items()
        if batches & wanted
    }
    return Whereabouts(here=_here(session, contents), sent=_sent(session, contents))


def batches_of_lot(session: Session, *, lot_id: int) -> frozenset[int]:
    """Return the ids of the batches whose plants a lot holds or held."""
    family = read_family(session, lot_ids=[lot_id])
    return batches_by_lot(family.lots, events=family.events).get(lot_id, frozenset())


def _here(session: Session, contents: Mapping[int, frozenset[int]]) -> tuple[LotHere, ...]:
    return tuple(
        LotHere(
            code=lot.code,
            plant=lot.plant,
            number=lot.standing.number,
            bench=lot.bench,
            batch_ids=contents[lot.id],
        )
        for lot in list_lots_of_ids(session, lot_ids=contents)
        if lot.standing.number
    )


def _sent(session: Session, contents: Mapping[int, frozenset[int]]) -> tuple[SentPlants, ...]:
    query = (
        select(
            LinerStage.liner_lot_id,
            LinerStage.reached_on,
            LinerStage.number,
            LinerLot.code,
            Dispatch.number.label("dispatch_number"),
            Dispatch.to_name,
            Dispatch.reference,
        )
        .join_from(LinerStage, LinerLot, LinerLot.id == LinerStage.liner_lot_id)
        .outerjoin(DispatchLine, DispatchLine.liner_stage_id == LinerStage.id)
        .outerjoin(Dispatch, Dispatch.id == DispatchLine.dispatch_id)
        .where(
            LinerStage.liner_lot_id.in_(contents),
            LinerStage.stage == Stage.SENT_OUT.value,
            LinerStage.withdrawn == 0,
        )
        .order_by(LinerStage.reached_on, LinerStage.id)
    )
    return tuple(
        SentPlants(
            dispatch=dispatch_code(row.dispatch_number) if row.dispatch_number else "",
            sent_on=row.reached_on,
            to_name=row.to_name or "",
            reference=row.reference or "",
            lot=row.code,
            number=row.number or 0,
            batch_ids=contents[row.liner_lot_id],
        )
        for row in session.execute(query)
    )


def _dispatches() -> Select[*tuple[Any, ...]]:
    recorder, withdrawer = aliased(Person), aliased(Person)
    plants = (
        select(func.sum(LinerStage.number))
        .join(DispatchLine, DispatchLine.liner_stage_id == LinerStage.id)
        .where(DispatchLine.dispatch_id == Dispatch.id)
        .correlate(Dispatch)
        .scalar_subquery()
    )
    return (
        select(
            Dispatch.__table__,
            recorder.name.label("recorded_by"),
            withdrawer.name.label("withdrawn_by"),
            plants.label("plants"),
        )
        .outerjoin(recorder, recorder.id == Dispatch.recorded_by_id)
        .outerjoin(withdrawer, withdrawer.id == Dispatch.withdrawn_by_id)
    )


def _dispatch(row: Row[*tuple[Any, ...]]) -> KnownDispatch:
    return KnownDispatch(
        id=row.id,
        number=row.number,
        version=row.version,
        sent_on=row.sent_on,
        to_name=row.to_name,
        reference=row.reference,
        notes=row.notes,
        recorded_by=row.recorded_by or "",
        withdrawn_at=row.withdrawn_at,
        withdrawn_by=row.withdrawn_by or "",
        withdraw_reason=row.withdraw_reason,
        plants=row.plants or 0,
    )
