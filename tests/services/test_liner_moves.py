"""Liner lots on benches: moved, counted into the room, reached by treatments; mix they used."""

from datetime import timedelta

import pytest
from sqlalchemy import select, text
from sqlalchemy.orm import Session

from app.domain.batch_moves import MoveEntry
from app.domain.liner_stages import Stage
from app.domain.people import Actor
from app.domain.problems import NotAccepted
from app.domain.treatments import TreatmentEntry, TreatmentKind
from app.services.benches import close_bench
from app.services.liner_lots import pot_up
from app.services.liner_moves import move_lot, undo_lot_move
from app.services.liner_stages import correct_stage
from app.services.mix_lots import void_mix_lot
from app.services.treatments import record_treatment
from app.store.models.benches import BenchStay
from app.store.models.liner_lots import LinerLot
from app.store.queries.bench_lots import list_stood_lots
from app.store.queries.bench_stands import get_bench_load, list_house
from app.store.queries.benches import list_loaded_benches
from app.store.queries.mix_lot_pottings import list_lot_pottings
from app.store.queries.mix_lots import get_mix_lot
from app.store.queries.treatments import get_reached, get_treatment, list_treatments_of_lot
from tests.conftest import NOW, TODAY
from tests.services.batch_records import (
    add_bench,
    add_container,
    add_mix,
    add_mix_lot,
    days_ago,
)
from tests.services.liner_records import cause, findings, happened, lot_id, rooted_batch, stage


@pytest.fixture
def benches(session: Session) -> list[int]:
    return [add_bench(session, name, place) for place, name in enumerate(("Mist", "Frame"), 1)]


@pytest.fixture
def lot(session: Session, head: Actor, benches: list[int]) -> int:
    """60 plants in 5 trays, on the first bench since 10 days ago."""
    batch = rooted_batch(session, head)
    entry = stage(Stage.POTTED_UP, 10, number=60, bench_id=benches[0], trays=5)
    made = pot_up(session, actor=head, today=TODAY, now=NOW, batch_id=batch.id, entry=entry)
    return lot_id(session, made.lot_code)


def codes(session: Session, bench: int, days: int = 0) -> list[str]:
    return [one.code for one in list_stood_lots(session, on=days_ago(days), bench_id=bench)]


def test_a_lot_takes_room_where_it_stands(session: Session, benches: list[int], lot: int) -> None:
    assert get_bench_load(session, bench_id=benches[0], on=TODAY).trays == 5
    loaded = list_loaded_benches(session)[0]
    assert (loaded.lots, loaded.trays, loaded.batches) == (1, 5, 0)
    assert [one.code for one in list_house(session, on=TODAY, today=TODAY)[0].lots] == ["L-0001"]
    session.get_one(LinerLot, lot).trays = None
    session.flush()
    load = get_bench_load(session, bench_id=benches[0], on=TODAY)
    assert load.words.endswith("1 liner lot without a number of trays")


def test_a_lot_is_moved_and_the_move_taken_back(
    session: Session, head: Actor, benches: list[int], lot: int
) -> None:
    first, second = benches
    entry = MoveEntry(to_bench_id=second, moved_on=days_ago(3))
    kept = {"actor": head, "now": NOW, "lot_id": lot}
    made = move_lot(session, **kept, today=TODAY, entry=entry)  # type: ignore[arg-type]
    assert (codes(session, first), codes(session, second)) == ([], ["L-0001"])
    assert (codes(session, first, 4), codes(session, second, 4)) == (["L-0001"], [])
    assert codes(session, second, 3) == ["L-0001"]
    assert findings(session) == []
    undo_lot_move(session, **kept, made=made)  # type: ignore[arg-type]
    assert (codes(session, first), codes(session, second)) == (["L-0001"], [])
    with pytest.raises(NotAccepted, match="moved again"):
        undo_lot_move(session, **kept, made=made)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("days", "to", "field"), [(-1, 1, "moved_on"), (11, 1, "moved_on"), (3, 0, "bench")]
)
def test_a_move_that_cannot_be_is_refused(
    session: Session, head: Actor, benches: list[int], lot: int, days: int, to: int, field: str
) -> None:
    entry = MoveEntry(to_bench_id=benches[to], moved_on=days_ago(days))
    with pytest.raises(NotAccepted) as refused:
        move_lot(session, actor=head, today=TODAY, now=NOW, lot_id=lot, entry=entry)
    assert refused.value.problems[0].field == field


def test_an_empty_lot_stands_nowhere_and_is_not_moved(
    session: Session, head: Actor, benches: list[int], lot: int
) -> None:
    with pytest.raises(NotAccepted, match="L-0001"):
        close_bench(session, actor=head, now=NOW, bench_id=benches[0])
    happened(session, head, lot, stage(Stage.LOST, 2, number=60, cause_id=cause(session)))
    assert codes(session, benches[0]) == []
    assert codes(session, benches[0], 3) == ["L-0001"]
    entry = MoveEntry(to_bench_id=benches[1], moved_on=TODAY)
    with pytest.raises(NotAccepted, match="no plants"):
        move_lot(session, actor=head, today=TODAY, now=NOW, lot_id=lot, entry=entry)
    close_bench(session, actor=head, now=NOW, bench_id=benches[0])


def test_a_corrected_day_of_potting_up_moves_its_first_stay(
    session: Session, head: Actor, benches: list[int], lot: int
) -> None:
    entry = stage(Stage.POTTED_UP, 8, number=60)
    correct_stage(
        session, actor=head, today=TODAY, now=NOW, stage_id=1, entry=entry, reason="wrong day"
    )
    stay = session.scalars(select(BenchStay).where(BenchStay.liner_lot_id == lot)).one()
    assert stay.from_on == days_ago(8)
    assert codes(session, benches[0], 9) == []


def test_treatments_of_its_bench_reach_a_lot(
    session: Session, head: Actor, benches: list[int], lot: int
) -> None:
    made = []
    for days in (12, 5, 1):
        entry = TreatmentEntry(
            kind=TreatmentKind.PLANT_PROTECTION,
            what="Fungicide",
            rate="as on its label",
            begun_at=NOW - timedelta(days=days),
            bench_ids=(benches[0],),
        )
        made.append(record_treatment(session, actor=head, now=NOW, zone="UTC", entry=entry))
        if days == 5:
            off = stage(Stage.LOST, 2, number=60, cause_id=cause(session))
            happened(session, head, lot, off)
    found = [one.code for one in list_treatments_of_lot(session, lot_id=lot)]
    # Before it was potted up, and after the last one was gone, nothing of it stood there.
    assert found == ["T-0002"]
    reached = get_reached(session, treatment=get_treatment(session, code="T-0002"))
    assert [one.code for one in reached.lots] == ["L-0001"]
    assert get_reached(session, treatment=get_treatment(session, code="T-0003")).lots == ()


def test_what_pottings_used_counts_in_what_is_left_of_a_mix_lot(
    session: Session, head: Actor
) -> None:
    # 60 pots of 400 ml take 24 litres; 50 were left to be potted on into 1,000 ml: 50 litres.
    batch = rooted_batch(session, head)
    mix_lot = add_mix_lot(session, add_mix(session)[0])
    session.execute(text("UPDATE mix_lots SET litres = 100"))
    small = add_container(session, "9 cm pot", kind="pot", plugs=None, volume_ml=400.0)
    large = add_container(session, "13 cm pot", kind="pot", plugs=None, volume_ml=1000.0)
    entry = stage(Stage.POTTED_UP, 10, number=60, container_id=small, mix_lot_id=mix_lot)
    pot_up(session, actor=head, today=TODAY, now=NOW, batch_id=batch.id, entry=entry)
    assert get_mix_lot(session, code="M-0001").left_l == 76.0
    happened(session, head, 1, stage(Stage.LOST, 5, number=10, cause_id=cause(session)))
    happened(session, head, 1, stage(Stage.POTTED_ON, 4, container_id=large, mix_lot_id=mix_lot))
    known = get_mix_lot(session, code="M-0001")
    assert (known.pottings, known.used_l, known.left_l) == (2, 74.0, 26.0)
    pottings = list_lot_pottings(session, lot_ids=[mix_lot])[mix_lot]
    assert [(one.stage, one.number, one.litres) for one in pottings] == [
        ("potted up", 60, 24.0),
        ("potted on", 50, 50.0),
    ]
    with pytest.raises(NotAccepted, match="Liner lots were potted"):
        void_mix_lot(session, actor=head, today=TODAY, now=NOW, code="M-0001", reason="twice")


def test_litres_that_somebody_said_hold(session: Session, head: Actor) -> None:
    batch = rooted_batch(session, head)
    mix_lot = add_mix_lot(session, add_mix(session)[0])
    entry = stage(Stage.POTTED_UP, 10, number=60, mix_lot_id=mix_lot, litres=30.5)
    pot_up(session, actor=head, today=TODAY, now=NOW, batch_id=batch.id, entry=entry)
    (potting,) = list_lot_pottings(session, lot_ids=[mix_lot])[mix_lot]
    assert (potting.litres, potting.said) == (30.5, True)
