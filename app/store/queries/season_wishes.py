"""Reading what a season's plan rests on: orders with what is stuck for them, stock, bench room."""

from dataclasses import dataclass
from datetime import date

from sqlalchemy.orm import Session

from app.domain.order_plans import PlanAsked, PlanSubject
from app.domain.season_answers import SeasonWish, WishStock
from app.domain.stock_needs import stock_need
from app.store.queries.benches import list_loaded_benches
from app.store.queries.order_plans import PlanBooks, find_basis
from app.store.queries.orders import list_open_orders, stuck_by_order
from app.store.queries.stock_yields import read_stock_yield


@dataclass(frozen=True, kw_only=True)
class WishedPlants:
    """An order as it is to be planned; `plant` is as it is shown."""

    name: str
    plant: str
    subject: PlanSubject
    asked: PlanAsked
    window_weeks: int
    stuck: int = 0


def list_wished_orders(session: Session) -> tuple[WishedPlants, ...]:
    """Return the open orders of the log, with the cuttings already stuck for each."""
    orders = list_open_orders(session)
    stuck = stuck_by_order(session, order_ids=[order.id for order in orders])
    return tuple(
        WishedPlants(
            name=order.name,
            plant=order.plant,
            subject=PlanSubject.of(order),
            asked=PlanAsked.of(order.entry),
            window_weeks=order.entry.window_weeks,
            stuck=stuck[order.id],
        )
        for order in orders
    )


def read_wish(
    session: Session, *, books: PlanBooks, wished: WishedPlants, today: date
) -> SeasonWish:
    """Return the wish with what it rests on."""
    return SeasonWish(
        name=wished.name,
        plant=wished.plant,
        asked=wished.asked,
        basis=find_basis(
            session, books=books, subject=wished.subject, asked=wished.asked, today=today
        ),
        window_weeks=wished.window_weeks,
        stuck=wished.stuck,
        stock=_stock(session, wished.subject, today=today),
    )


def free_trays(session: Session) -> int | None:
    """Return the trays for which the benches in use have room now; None where none has a measure.

    What stands on them is taken to stay all season.
    """
    loaded = [
        (each.bench.capacity_trays, each.trays)
        for each in list_loaded_benches(session)
        if each.bench.capacity_trays is not None and not each.bench.closed
    ]
    if not loaded:
        return None
    return sum(max(0, room - standing) for room, standing in loaded)


def _stock(session: Session, subject: PlanSubject, *, today: date) -> WishStock | None:
    given = read_stock_yield(
        session, plant_name_id=subject.plant_name_id, genus_id=subject.genus_id, on=today
    )
    need = stock_need(1, given=given, window_weeks=1)
    if need is None or need.per_plant <= 0:
        return None
    return WishStock(
        name=f"{subject.genus} {subject.plant_name_id or ''}".strip(),
        fit=given.fit,
        kept=given.fit_after_rest,
        per_plant=need.per_plant,
        rest_weeks=given.rest_weeks or 1,
    )
