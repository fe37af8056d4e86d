"""Reading what the members of a line are: their codes and names, how they stand, and where."""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from sqlalchemy import Row, Select, func, select
from sqlalchemy.orm import Session

from app.domain.lines import Member, MemberKind
from app.domain.outcomes import Standing
from app.domain.stock_plants import StateToday, StockPlantState
from app.store.models.batches import Batch, BatchFacts
from app.store.models.benches import Bench
from app.store.models.liner_lots import LinerFacts
from app.store.models.plant_names import PlantNameRow
from app.store.models.stock_plants import StockPlant
from app.store.queries.batch_places import benches_now
from app.store.queries.dispatches import get_whereabouts
from app.store.queries.stock_plant_states import STATE_COLUMNS, states_of

_CHUNK: Final = 500  # ids asked for at once: databases bound the number of values


@dataclass(frozen=True, kw_only=True)
class LineMember:
    """A stock plant or batch of a line, as it stands on the day asked for.

    `on` is the day of sticking, or the day a stock plant came. `number` is how many were stuck,
    or how many plants stand there. Only a batch has a `standing`; `restuck` says that it is a
    second try. `is_here` says that something of it is still alive and not thrown away.
    """

    member: Member
    code: str
    plant: str
    on: date | None
    number: int
    state: str
    benches: tuple[str, ...]
    is_here: bool
    standing: Standing | None = None
    restuck: bool = False


def get_line_members(
    session: Session, *, members: Collection[Member], on: date
) -> Mapping[Member, LineMember]:
    """Return what is known of each member."""
    found: dict[Member, LineMember] = {}
    for ids in _chunks(members, MemberKind.BATCH):
        rows = session.execute(_batches().where(Batch.id.in_(ids))).all()
        benches = benches_now(session, batch_ids=ids)
        potted = [row.id for row in rows if row.taken]
        in_lots = get_whereabouts(session, batch_ids=potted).batch_ids_here if potted else ()
        batches = (_batch(row, benches, in_lot=row.id in in_lots) for row in rows)
        found |= {one.member: one for one in batches}
    for ids in _chunks(members, MemberKind.STOCK_PLANT):
        rows = session.execute(_stock_plants().where(StockPlant.id.in_(ids))).all()
        states = states_of(session, rows=rows, on=on)
        plants = (_stock_plant(row, standing=states[row.id]) for row in rows)
        found |= {one.member: one for one in plants}
    return found


def member_codes(session: Session, *, members: Collection[Member]) -> Mapping[Member, str]:
    """Return the code of each member."""
    models: dict[MemberKind, type[Batch | StockPlant]] = {
        MemberKind.BATCH: Batch,
        MemberKind.STOCK_PLANT: StockPlant,
    }
    return {
        Member(kind=kind, id=row.id): row.code
        for kind, model in models.items()
        for ids in _chunks(members, kind)
        for row in session.execute(select(model.id, model.code).where(model.id.in_(ids)))
    }


def _chunks(members: Collection[Member], kind: MemberKind) -> Iterator[list[int]]:
    ids = sorted(member.id for member in members if member.kind is kind)
    yield from (ids[start : start + _CHUNK] for start in range(0, len(ids), _CHUNK))


def _batches() -> Select[*tuple[Any, ...]]:
    return (
        select(
            BatchFacts.__table__,
            Batch.id,
            Batch.code,
            Batch.restuck_from_id,
            PlantNameRow.plain.label("plant"),
            func.coalesce(LinerFacts.taken, 0).label("taken"),
        )
        .join_from(BatchFacts, Batch, Batch.id == BatchFacts.batch_id)
        .outerjoin(LinerFacts, LinerFacts.batch_id == BatchFacts.batch_id)
        .join(PlantNameRow, PlantNameRow.id == Batch.plant_name_id)
    )


def _stock_plants() -> Select[*tuple[Any, ...]]:
    return (
        select(
            *STATE_COLUMNS,
            StockPlant.code,
            StockPlant.came_on,
            StockPlant.plants,
            PlantNameRow.plain.label("plant"),
            Bench.name.label("bench"),
        )
        .join_from(StockPlant, PlantNameRow, PlantNameRow.id == StockPlant.plant_name_id)
        .outerjoin(Bench, Bench.id == StockPlant.bench_id)
    )


def _batch(
    row: Row[*tuple[Any, ...]], benches: Mapping[int, tuple[str, ...]], *, in_lot: bool
) -> LineMember:
    standing = Standing(
        stuck=row.stuck,
        rooted=row.rooted,
        lost=row.lost,
        dumped=row.dumped,
        cleared_unrooted=row.cleared_unrooted,
        counted_on=row.counted_on,
    )
    return LineMember(
        member=Member(kind=MemberKind.BATCH, id=row.id),
        code=row.code,
        plant=row.plant,
        on=row.stuck_on,
        number=row.stuck,
        state=standing.state.value,
        benches=benches.get(row.id, ()),
        is_here=row.voided == 0 and (in_lot or row.unrooted + row.rooted - row.taken > 0),
        standing=standing,
        restuck=row.restuck_from_id is not None,
    )


def _stock_plant(row: Row[*tuple[Any, ...]], *, standing: StateToday) -> LineMember:
    return LineMember(
        member=Member(kind=MemberKind.STOCK_PLANT, id=row.id),
        code=row.code,
        plant=row.plant,
        on=row.came_on,
        number=row.plants,
        state=standing.state.value,
        benches=(row.bench,) if row.bench else (),
        is_here=standing.state is not StockPlantState.DISCARDED,
    )
