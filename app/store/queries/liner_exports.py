"""Liner stages and dispatches as they leave in sheets: lots, places and people by their names."""

from collections.abc import Sequence
from typing import Final

from sqlalchemy import func, select
from sqlalchemy.orm import Session, aliased

from app.store.models.batches import Batch
from app.store.models.benches import Bench, BenchStay
from app.store.models.containers import Container
from app.store.models.dispatches import Dispatch, DispatchLine
from app.store.models.liner_lots import LinerLot, LinerStage
from app.store.models.lost_causes import LostCause
from app.store.models.mixes import MixLot
from app.store.models.people import Person
from app.store.models.stock_plants import StockPlant
from app.store.queries.exports import ExportTable, Texts, person_name

BETWEEN: Final = "; "
_done_by, _of_lot, _into_lot = aliased(Person), aliased(LinerLot), aliased(LinerLot)


def _first_benches(session: Session, keys: Sequence[int]) -> Texts:
    """Return by stage the bench on which the lot that it made stood first."""
    first = (
        select(BenchStay.liner_lot_id, func.min(BenchStay.id).label("stay_id"))
        .group_by(BenchStay.liner_lot_id)
        .subquery()
    )
    query = (
        select(LinerStage.id, Bench.name)
        .join(first, first.c.liner_lot_id == LinerStage.into_lot_id)
        .join(BenchStay, BenchStay.id == first.c.stay_id)
        .join(Bench, Bench.id == BenchStay.bench_id)
        .where(LinerStage.id.in_(keys))
    )
    return {row.id: row.name for row in session.execute(query)}


def _lines(session: Session, keys: Sequence[int]) -> Texts:
    query = (
        select(DispatchLine.dispatch_id, LinerLot.code, LinerStage.number)
        .join_from(DispatchLine, LinerStage, LinerStage.id == DispatchLine.liner_stage_id)
        .join(LinerLot, LinerLot.id == LinerStage.liner_lot_id)
        .where(DispatchLine.dispatch_id.in_(keys))
        .order_by(DispatchLine.dispatch_id, DispatchLine.position)
    )
    found: dict[int, list[str]] = {}
    for dispatch_id, code, number in session.execute(query):
        found.setdefault(dispatch_id, []).append(f"{code} {number}")
    return {dispatch_id: BETWEEN.join(lines) for dispatch_id, lines in found.items()}


LINER_STAGES: Final = ExportTable(
    key=LinerStage.id,
    columns={
        "entry": LinerStage.id,
        "stage": LinerStage.stage,
        "reached_on": LinerStage.reached_on,
        "batch": Batch.code,
        "liner_lot": _of_lot.code,
        "number": LinerStage.number,
        "into_lot": _into_lot.code,
        "trays": _into_lot.trays,
        "container": Container.name,
        "mix_lot": MixLot.code,
        "litres": LinerStage.litres,
        "cause": LostCause.name,
        "grade": LinerStage.grade,
        "stock_plant": StockPlant.code,
        "by": person_name(_done_by),
        "withdrawn": LinerStage.withdrawn == 1,
        "withdraw_reason": LinerStage.withdrawn_reason,
        "note": LinerStage.notes,
    },
    source=lambda query: (
        query.select_from(LinerStage)
        .outerjoin(Batch, Batch.id == LinerStage.batch_id)
        .outerjoin(_of_lot, _of_lot.id == LinerStage.liner_lot_id)
        .outerjoin(_into_lot, _into_lot.id == LinerStage.into_lot_id)
        .outerjoin(Container, Container.id == LinerStage.container_id)
        .outerjoin(MixLot, MixLot.id == LinerStage.mix_lot_id)
        .outerjoin(LostCause, LostCause.id == LinerStage.lost_cause_id)
        .outerjoin(StockPlant, StockPlant.id == LinerStage.stock_plant_id)
        .outerjoin(_done_by, _done_by.id == LinerStage.person_id)
    ),
    lists={"bench": _first_benches},
)

DISPATCHES: Final = ExportTable(
    key=Dispatch.id,
    columns={
        "dispatch": Dispatch.number,
        "sent_on": Dispatch.sent_on,
        "to_whom": Dispatch.to_name,
        "reference": Dispatch.reference,
        "withdrawn": Dispatch.withdrawn == 1,
        "withdraw_reason": Dispatch.withdraw_reason,
        "note": Dispatch.notes,
    },
    source=lambda query: query.select_from(Dispatch),
    lists={"lines": _lines},
)
