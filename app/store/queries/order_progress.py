"""Reading what counts to orders and how they stand; what is worked out is only read back."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import Row, func, select
from sqlalchemy.orm import Session

from app.domain.liner_stages import Stage
from app.domain.order_notices import Mend, OrderNotice, OrderOutlook
from app.domain.orders import NotPlannable, Order
from app.domain.outcomes import Standing
from app.store.models.batches import Batch, BatchFacts
from app.store.models.liner_lots import LinerStage
from app.store.models.meta import Meta
from app.store.models.orders import OrderBatch, OrderOutlookRow
from app.store.models.plant_names import PlantNameRow
from app.store.queries.orders import list_open_orders


@dataclass(frozen=True, kw_only=True)
class OrderedLine:
    """A batch that counts to an order, as its page lists it; `genus_id` is the fit's number."""

    batch_id: int
    code: str
    plant: str
    plant_name_id: int
    genus_id: int
    cutting_type: str
    stuck_on: date
    standing: Standing
    potted: int


def list_ordered_batches(session: Session, *, order_id: int) -> tuple[OrderedLine, ...]:
    """Return the batches that count to an order, void ones left out, by the day of sticking."""
    potted = (
        select(func.coalesce(func.sum(LinerStage.number), 0))
        .where(
            LinerStage.batch_id == BatchFacts.batch_id,
            LinerStage.stage == Stage.POTTED_UP.value,
            LinerStage.withdrawn == 0,
        )
        .correlate(BatchFacts)
        .scalar_subquery()
    )
    rows = session.execute(
        select(
            *BatchFacts.__table__.c,
            Batch.code,
            PlantNameRow.plain.label("plant"),
            potted.label("potted"),
        )
        .join(OrderBatch, OrderBatch.batch_id == BatchFacts.batch_id)
        .join(Batch, Batch.id == BatchFacts.batch_id)
        .join(PlantNameRow, PlantNameRow.id == BatchFacts.plant_name_id)
        .where(OrderBatch.order_id == order_id, BatchFacts.voided == 0)
        .order_by(BatchFacts.stuck_on, BatchFacts.batch_id)
    )
    return tuple(_line(row) for row in rows)


def list_countable_batches(
    session: Session, *, order: Order, limit: int = 30
) -> tuple[tuple[str, date, int], ...]:
    """Return (code, stuck on, stuck) of batches that fit and count to no order, newest first."""
    wanted = order.entry.plant_name_id
    fits = BatchFacts.genus_id == order.genus_id
    if wanted is not None:
        fits = BatchFacts.plant_name_id == wanted
    query = (
        select(Batch.code, BatchFacts.stuck_on, BatchFacts.stuck)
        .join(Batch, Batch.id == BatchFacts.batch_id)
        .outerjoin(OrderBatch, OrderBatch.batch_id == BatchFacts.batch_id)
        .where(fits, BatchFacts.voided == 0, OrderBatch.batch_id.is_(None))
        .order_by(BatchFacts.stuck_on.desc(), BatchFacts.batch_id.desc())
        .limit(limit)
    )
    return tuple((row[0], row[1], row[2]) for row in session.execute(query))


def find_order_outlook(session: Session, *, order_id: int) -> OrderOutlook | None:
    """Return how an order stood when that was last worked out, None where it never was."""
    return outlooks_by_order(session, order_ids=[order_id]).get(order_id)


def outlooks_by_order(session: Session, *, order_ids: Sequence[int]) -> Mapping[int, OrderOutlook]:
    """Return how each order stood when that was last worked out."""
    table = OrderOutlookRow.__table__
    rows = session.execute(select(table).where(table.c.order_id.in_(list(order_ids))))
    return {row.order_id: _outlook(row) for row in rows}


def list_unlikely_orders(session: Session) -> tuple[OrderNotice, ...]:
    """Return the open orders that have become unlikely, by the day they are due."""
    orders = list_open_orders(session)
    outlooks = outlooks_by_order(session, order_ids=[order.id for order in orders])
    return tuple(
        OrderNotice(order=order, outlook=outlooks[order.id])
        for order in orders
        if order.id in outlooks and outlooks[order.id].unlikely
    )


def list_orders_to_work_out(session: Session, *, today: date) -> tuple[int, ...]:
    """Return the numbers of the open orders whose outlook is not of today and these batches."""
    version = get_data_version(session)
    fresh = set(
        session.scalars(
            select(OrderOutlookRow.order_id).where(
                OrderOutlookRow.data_version == version, OrderOutlookRow.worked_out_on == today
            )
        )
    )
    return tuple(order.number for order in list_open_orders(session) if order.id not in fresh)


def fresh_counts_by_order(session: Session) -> Mapping[int, Mapping[str, int]]:
    """Return the kept counts of each order that were worked out from the batches as they are."""
    names = ("batches", "stuck", "rooted", "unrooted")
    table = OrderOutlookRow.__table__
    rows = session.execute(select(table).where(table.c.data_version == get_data_version(session)))
    return {row.order_id: {name: getattr(row, name) for name in names} for row in rows}


def get_data_version(session: Session) -> int:
    """Return the number of the batches' data, which counts up with their changes."""
    return session.scalar(select(Meta.data_version)) or 0


def _line(row: Row[*tuple[Any, ...]]) -> OrderedLine:
    return OrderedLine(
        batch_id=row.batch_id,
        code=row.code,
        plant=row.plant,
        plant_name_id=row.plant_name_id,
        genus_id=row.genus_id,
        cutting_type=row.cutting_type,
        stuck_on=row.stuck_on,
        standing=Standing(
            stuck=row.stuck,
            rooted=row.rooted,
            lost=row.lost,
            dumped=row.dumped,
            cleared_unrooted=row.cleared_unrooted,
            counted_on=row.counted_on,
            last_looked_on=row.last_looked_on,
        ),
        potted=row.potted,
    )


def _outlook(row: Row[Any]) -> OrderOutlook:
    mend = None
    if row.mend_by_on is not None:
        refusal = NotPlannable(row.mend_refusal) if row.mend_refusal else None
        mend = Mend(stick=row.mend_stick, by_on=row.mend_by_on, refusal=refusal)
    return OrderOutlook(
        batches=row.batches,
        stuck=row.stuck,
        rooted=row.rooted,
        unrooted=row.unrooted,
        potted=row.potted,
        chance=row.chance,
        expected=row.expected,
        low=row.low,
        high=row.high,
        mend=mend,
        unlikely=bool(row.unlikely),
    )
