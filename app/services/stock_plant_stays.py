"""Where stock plants stand: each stay on a bench has a first day and, once over, a last."""

from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.store.models.benches import BenchStay


def stand_stock_plant(
    session: Session, *, stock_plant_id: int, bench_id: int | None, from_on: date
) -> None:
    """Let a stock plant stand on a bench from a day on, and no longer where it stood."""
    end_stock_plant_stay(session, stock_plant_id=stock_plant_id, to_on=from_on)
    if bench_id is not None:
        session.add(BenchStay(stock_plant_id=stock_plant_id, bench_id=bench_id, from_on=from_on))


def end_stock_plant_stay(session: Session, *, stock_plant_id: int, to_on: date) -> None:
    """End the stay that is going on, if there is one."""
    query = select(BenchStay).where(
        BenchStay.stock_plant_id == stock_plant_id, BenchStay.to_on.is_(None)
    )
    for stay in session.scalars(query):
        stay.to_on = max(to_on, stay.from_on)
