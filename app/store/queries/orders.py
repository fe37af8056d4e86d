"""Reading orders, and the batches that count to them."""

from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import Row, Select, func, or_, select
from sqlalchemy.orm import Session

from app.domain.cutting_types import CuttingType
from app.domain.orders import Order, OrderEntry, OrderState, Place
from app.domain.problems import NotFound
from app.store.models.batches import Batch
from app.store.models.genera import Genus
from app.store.models.hormones import HormoneRow
from app.store.models.orders import OrderBatch, OrderRow
from app.store.models.plant_names import PlantNameRow

_AS_STORED = tuple(
    name for name in OrderEntry.__dataclass_fields__ if name not in {"place", "cutting_type"}
)


def get_order(session: Session, *, number: int) -> Order:
    """Return the order of this number.

    Raises:
        NotFound: there is none.
    """
    row = session.execute(_orders().where(OrderRow.number == number)).one_or_none()
    if row is None:
        raise NotFound(f"There is no order {number}.")
    return _order(row)


def list_orders(session: Session, *, state: OrderState | None = None) -> tuple[Order, ...]:
    """Return the orders in a state, or all, by the day they are due."""
    query = _orders().order_by(OrderRow.due_on, OrderRow.number)
    if state is not None:
        query = query.where(OrderRow.state == state.value)
    return tuple(_order(row) for row in session.execute(query))


def list_open_orders(session: Session) -> tuple[Order, ...]:
    """Return the orders that are still to be met, by the day they are due."""
    return list_orders(session, state=OrderState.OPEN)


def list_orders_for(
    session: Session, *, plant_name_id: int | None, genus_id: int
) -> tuple[Order, ...]:
    """Return the open orders to which a batch of this name may count, by the day they are due."""
    fitting = or_(OrderRow.plant_name_id == plant_name_id, OrderRow.genus_id == genus_id)
    query = _orders().where(OrderRow.state == OrderState.OPEN.value, fitting)
    rows = session.execute(query.order_by(OrderRow.due_on, OrderRow.number))
    return tuple(_order(row) for row in rows)


def find_order_of_batch(session: Session, *, batch_id: int) -> Order | None:
    """Return the order that a batch counts to, None where it counts to none."""
    query = _orders().join(OrderBatch, OrderBatch.order_id == OrderRow.id)
    row = session.execute(query.where(OrderBatch.batch_id == batch_id)).one_or_none()
    return _order(row) if row else None


def batch_ids_by_order(
    session: Session, *, order_ids: Sequence[int]
) -> Mapping[int, tuple[int, ...]]:
    """Return the batches that count to each of the orders, void ones left out, by their ids."""
    found: dict[int, list[int]] = {order_id: [] for order_id in order_ids}
    query = (
        select(OrderBatch.order_id, OrderBatch.batch_id)
        .join(Batch, Batch.id == OrderBatch.batch_id)
        .where(OrderBatch.order_id.in_(list(order_ids)), Batch.voided_at.is_(None))
        .order_by(OrderBatch.batch_id)
    )
    for order_id, batch_id in session.execute(query):
        found[order_id].append(batch_id)
    return {order_id: tuple(ids) for order_id, ids in found.items()}


def stuck_by_order(session: Session, *, order_ids: Sequence[int]) -> Mapping[int, int]:
    """Return how many cuttings are stuck for each of the orders; void batches left out."""
    found = dict.fromkeys(order_ids, 0)
    query = (
        select(OrderBatch.order_id, func.sum(Batch.stuck).label("stuck"))
        .join(Batch, Batch.id == OrderBatch.batch_id)
        .where(OrderBatch.order_id.in_(list(order_ids)), Batch.voided_at.is_(None))
        .group_by(OrderBatch.order_id)
    )
    return found | {row.order_id: row.stuck for row in session.execute(query)}


def _orders() -> Select[*tuple[Any, ...]]:
    genus_id = func.coalesce(OrderRow.genus_id, PlantNameRow.genus_id)
    return (
        select(
            *OrderRow.__table__.c,
            PlantNameRow.plain,
            PlantNameRow.species,
            Genus.name.label("genus"),
            Genus.id.label("of_genus_id"),
            HormoneRow.label.label("hormone"),
        )
        .outerjoin(PlantNameRow, PlantNameRow.id == OrderRow.plant_name_id)
        .join(Genus, Genus.id == genus_id)
        .outerjoin(HormoneRow, HormoneRow.id == OrderRow.hormone_id)
    )


def _order(row: Row[*tuple[Any, ...]]) -> Order:
    entry = OrderEntry(
        **{name: getattr(row, name) for name in _AS_STORED},
        place=Place(row.place),
        cutting_type=CuttingType(row.cutting_type) if row.cutting_type else None,
    )
    return Order(
        id=row.id,
        number=row.number,
        version=row.version,
        entry=entry,
        plant=row.plain or row.genus,
        genus=row.genus,
        genus_id=row.of_genus_id,
        species=row.species or "",
        hormone=row.hormone or "",
        state=OrderState(row.state),
        ended_on=row.ended_on,
        ended_reason=row.ended_reason,
    )
