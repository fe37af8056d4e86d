"""What the demo tells of liners: lots of every state, and sums that hold."""

from app.services.verifying_liners import liner_faults
from app.store.queries.liner_lots import LotsIn, LotsWanted, list_liner_lots
from app.store.session import Database


def test_lots_grow_on_are_ready_and_are_sold(told_database: Database) -> None:
    with told_database.reading() as session:
        lots = list_liner_lots(session, wanted=LotsWanted(which=LotsIn.ALL), limit=500)
        assert list(liner_faults(session)) == []
    assert {lot.state for lot in lots} >= {"growing on", "ready"}
    assert all(lot.bench for lot in lots if lot.batch)
    assert len(lots) > 5
