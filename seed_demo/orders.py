"""What is ordered from the invented nursery, and the batches that were stuck for it."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import Final

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.cutting_types import CuttingType
from app.domain.orders import OrderEntry, OrderState
from app.services.order_batches import count_to_order
from app.services.order_outlooks import watch_orders
from app.services.orders import add_order, end_order, keep_wanted_plant
from app.store.models.batches import Batch, BatchFacts
from app.store.session import Database
from seed_demo.desk import Desk, instant
from seed_demo.places import MANAGER


@dataclass(frozen=True, kw_only=True)
class DemoOrder:
    """An order by days from the day of the demo; the newest `counted` open batches count to it."""

    plant: str
    plants: int
    due_in: int
    for_whom: str
    counted: int = 0
    entered_in: int = -3
    batches: int = 3
    window_weeks: int = 3
    sure_share: float = 0.9
    cutting_type: CuttingType | None = None
    ended: OrderState | None = None
    ended_in: int = 0
    reason: str = ""


ORDERS: Final[Sequence[DemoOrder]] = (
    DemoOrder(
        plant="Hydrangea macrophylla 'Ayesha'",
        plants=240,
        due_in=-40,
        entered_in=-190,
        for_whom="Harrowmere garden shop",
        ended=OrderState.MET,
        ended_in=-44,
    ),
    DemoOrder(
        plant="Buxus sempervirens",
        plants=800,
        due_in=150,
        entered_in=-90,
        for_whom="Ottermouth council",
        ended=OrderState.CLOSED,
        ended_in=-20,
        reason="called off: they plant yew instead",
    ),
    DemoOrder(
        plant="Hebe 'Great Orme'",
        plants=400,
        due_in=110,
        entered_in=-80,
        counted=4,
        for_whom="Harrowmere garden shop",
    ),
    DemoOrder(
        plant="Photinia × fraseri 'Red Robin'",
        plants=640,
        due_in=95,
        entered_in=-100,
        counted=3,
        for_whom="hedging, Brindle Farm",
    ),
    DemoOrder(
        plant="Ceanothus 'Concha'",
        plants=300,
        due_in=120,
        entered_in=-85,
        counted=4,
        batches=4,
        sure_share=0.8,
        for_whom="own sales beds",
    ),
    DemoOrder(
        plant="Lavandula angustifolia 'Hidcote'",
        plants=500,
        due_in=300,
        window_weeks=9,
        cutting_type=CuttingType.SEMI_RIPE,
        for_whom="Tidwell lavender walk",
    ),
    DemoOrder(
        plant="Fuchsia", plants=350, due_in=190, batches=5, for_whom="spring hanging baskets"
    ),
)


def tell_orders(database: Database, desk: Desk) -> None:
    """Tell what is ordered, and work out how the open orders stand."""
    if MANAGER.name not in desk.actors:
        return
    with database.writing() as session:
        for minute, order in enumerate(ORDERS):
            _tell(session, desk, order, minute=minute)
    watch_orders(database, today=desk.today)


def _tell(session: Session, desk: Desk, order: DemoOrder, *, minute: int) -> None:
    actor, now = desk.actors[MANAGER.name], instant(desk.today, 6, 30 + minute)
    wanted = keep_wanted_plant(session, actor=actor, now=now, typed=order.plant)
    entry = OrderEntry(
        plant_name_id=wanted.plant_name_id,
        genus_id=wanted.genus_id,
        plants=order.plants,
        due_on=desk.today + timedelta(days=order.due_in),
        sure_share=order.sure_share,
        batches=order.batches,
        window_weeks=order.window_weeks,
        cutting_type=order.cutting_type,
        for_whom=order.for_whom,
    )
    entered_on = desk.today + timedelta(days=order.entered_in)
    number = add_order(session, actor=actor, today=entered_on, now=now, entry=entry)
    for code in _newest_open(session, plant_name_id=wanted.plant_name_id, most=order.counted):
        count_to_order(session, actor=actor, now=now, number=number, code=code)
    if order.ended is not None:
        end_order(
            session,
            actor=actor,
            now=now,
            number=number,
            version=1,
            state=order.ended,
            ended_on=desk.today + timedelta(days=order.ended_in),
            reason=order.reason,
        )


def _newest_open(session: Session, *, plant_name_id: int | None, most: int) -> Sequence[str]:
    query = (
        select(Batch.code)
        .join(BatchFacts, BatchFacts.batch_id == Batch.id)
        .where(BatchFacts.plant_name_id == plant_name_id, BatchFacts.open == 1)
        .order_by(BatchFacts.stuck_on.desc(), BatchFacts.batch_id.desc())
        .limit(most)
    )
    return session.scalars(query).all()
