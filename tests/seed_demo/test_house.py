"""What the demo tells of the house: something of each kind is there to be seen."""

from datetime import timedelta

from app.domain.treatments import TreatmentKind
from app.services.verifying_places import place_faults
from app.store.queries.bench_stands import list_house
from app.store.queries.mix_lots import list_mix_lots
from app.store.queries.treatments import list_running, list_treatments
from app.store.session import Database
from seed_demo.house import WORKS
from tests.conftest import NOW, TODAY


def test_treatments_of_each_kind_one_running_one_withdrawn(told_database: Database) -> None:
    with told_database.reading() as session:
        told = list_treatments(session, limit=500)
        running = list_running(session, now=NOW)
        assert list(place_faults(session)) == []
    assert {one.kind for one in told} == {work.kind.value for work in WORKS}
    assert {work.kind for work in WORKS} < set(TreatmentKind)
    assert len(running) == 1
    assert running[0].begun_on == TODAY - timedelta(days=1)
    assert sum(one.withdrawn_at is not None for one in told) == 1


def test_lots_are_measured_and_batches_name_them(told_database: Database) -> None:
    with told_database.reading() as session:
        lots = list_mix_lots(session)
        house = list_house(session, on=TODAY, today=TODAY)
    shares = [lot.entry.shrinkage_share for lot in lots]
    assert all(share is not None and 0.05 < share < 0.15 for share in shares)
    assert any(lot.empty_on for lot in lots)
    assert any(lot.batches and 0 < (lot.left_l or 0) < (lot.entry.litres or 0) for lot in lots)
    assert any(one.load.percent for one in house)
