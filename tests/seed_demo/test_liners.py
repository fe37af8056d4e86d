"""What the demo tells of liners: lots of every state, and sums that hold."""

from sqlalchemy import select

from app.services.verifying_liners import liner_faults
from app.store.models.stock_plants import StockPlant
from app.store.queries.dispatches import list_dispatches
from app.store.queries.line_answers import get_line
from app.store.queries.liner_lots import LotsIn, LotsWanted, list_liner_lots
from app.store.session import Database
from tests.conftest import TODAY


def test_lots_grow_on_are_ready_and_are_sold(told_database: Database) -> None:
    with told_database.reading() as session:
        lots = list_liner_lots(session, wanted=LotsWanted(which=LotsIn.ALL), limit=500)
        assert list(liner_faults(session)) == []
    assert {lot.state for lot in lots} >= {"growing on", "ready"}
    assert all(lot.bench for lot in lots if lot.batch)
    assert len(lots) > 5


def test_what_was_sold_says_to_whom_and_a_line_goes_on(told_database: Database) -> None:
    with told_database.reading() as session:
        sent = list_dispatches(session)
        kept = session.scalars(
            select(StockPlant.code).where(StockPlant.raised_from_id.is_not(None))
        )
        assert get_line(session, code=kept.one(), on=TODAY).generation == 1
    assert len(sent) > 5
    assert all(one.to_name and one.plants for one in sent)
