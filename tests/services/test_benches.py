"""Benches are added, corrected, walked in order, and closed only when they are empty."""

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.benches import BenchEntry
from app.domain.people import Actor
from app.domain.problems import ChangedMeanwhile, NotAccepted, NotFound
from app.domain.stock_plants import StockPlantEntry
from app.services.batches import stick_batch, void_batch
from app.services.benches import (
    add_bench,
    close_bench,
    correct_bench,
    keep_bench,
    place_bench,
    reopen_bench,
)
from app.services.stock_plants import add_stock_plant, discard_stock_plant
from app.store.models.history import HistoryLine
from app.store.queries.benches import (
    get_bench,
    list_benches,
    list_loaded_benches,
    list_standing_stock_plants,
)
from app.store.queries.record_histories import list_history_of_named
from tests.conftest import NOW, TODAY
from tests.services.batch_records import add_plant, entry


def add(session: Session, *names: str) -> list[int]:
    return [add_bench(session, actor=None, now=NOW, entry=BenchEntry(name=name)) for name in names]


def walk(session: Session) -> list[str]:
    return [bench.name for bench in list_benches(session)]


def test_a_bench_is_kept_at_the_end_of_the_walk(session: Session) -> None:
    add(session, "Mist  bench 2 ", "Cold frame A")
    assert walk(session) == ["Mist bench 2", "Cold frame A"]


@pytest.mark.parametrize(
    ("bench", "field"),
    [
        (BenchEntry(name=" "), "name"),
        (BenchEntry(name="x" * 81), "name"),
        (BenchEntry(name="x", capacity_trays=-1), "capacity_trays"),
        (BenchEntry(name="x", notes="x" * 5_001), "notes"),
        (BenchEntry(name="MIST BENCH 2"), "name"),
    ],
)
def test_what_cannot_be_is_refused_by_its_field(
    session: Session, head: Actor, bench: BenchEntry, field: str
) -> None:
    add(session, "Mist bench 2")
    with pytest.raises(NotAccepted) as refused:
        add_bench(session, actor=head, now=NOW, entry=bench)
    assert [problem.field for problem in refused.value.problems] == [field]


def test_a_name_is_kept_once_whatever_its_capitals(session: Session) -> None:
    first = keep_bench(session, actor=None, now=NOW, name="Mist bench 2")
    assert keep_bench(session, actor=None, now=NOW, name=" mist  BENCH 2") == first


def test_the_walk_is_put_in_order(session: Session, head: Actor) -> None:
    _, _, third = add(session, "A", "B", "C")
    assert place_bench(session, actor=head, now=NOW, bench_id=third, place=1) == 3
    assert walk(session) == ["C", "A", "B"]
    place_bench(session, actor=head, now=NOW, bench_id=third, place=99)
    assert walk(session) == ["A", "B", "C"]
    place_bench(session, actor=head, now=NOW, bench_id=third, place=3)  # where it is already
    place_bench(session, actor=head, now=NOW, bench_id=third, place=-4)
    assert walk(session) == ["C", "A", "B"]
    moves = session.scalars(
        select(HistoryLine.change)
        .where(HistoryLine.what == "bench moved in the walk")
        .order_by(HistoryLine.sequence)
    ).all()
    assert moves == [
        '{"place in the walk":[3,1]}',
        '{"place in the walk":[1,3]}',
        '{"place in the walk":[3,1]}',
    ]
    assert get_bench(session, bench_id=third).version == 1


def test_a_bench_with_a_batch_stays_open(session: Session, head: Actor) -> None:
    (bench,) = add(session, "Mist bench 2")
    common = {"actor": head, "today": TODAY, "now": NOW}
    said = entry(add_plant(session), bench_id=bench, trays=2, per_tray=48)
    batch = stick_batch(session, entry=said, **common)
    with pytest.raises(NotAccepted, match=batch.code):
        close_bench(session, actor=head, now=NOW, bench_id=bench)
    (loaded,) = list_loaded_benches(session)
    assert (loaded.batches, loaded.trays, loaded.stock_plants) == (1, 2, 0)
    void_batch(session, batch_id=batch.id, reason="twice", **common)
    close_bench(session, actor=head, now=NOW, bench_id=bench)
    assert walk(session) == []
    assert list_loaded_benches(session)[0].batches == 0


def test_a_bench_with_a_stock_plant_stays_open(session: Session, head: Actor) -> None:
    (bench,) = add(session, "Frame")
    common = {"actor": head, "today": TODAY, "now": NOW}
    told = StockPlantEntry(plant_name_id=add_plant(session), bench_id=bench, plants=6)
    plant = add_stock_plant(session, entry=told, **common)
    assert [(p.code, p.plants) for p in list_standing_stock_plants(session, bench_id=bench)] == [
        ("S-0001", 6)
    ]
    with pytest.raises(NotAccepted, match="S-0001"):
        close_bench(session, actor=head, now=NOW, bench_id=bench)
    discard_stock_plant(
        session, stock_plant_id=plant.id, version=1, discarded_on=TODAY, reason="old", **common
    )
    close_bench(session, actor=head, now=NOW, bench_id=bench)
    close_bench(session, actor=head, now=NOW, bench_id=bench)  # a second press changes nothing
    closed = select(HistoryLine.sequence).where(HistoryLine.what == "bench closed")
    assert len(session.scalars(closed).all()) == 1


def test_a_closed_bench_comes_back_at_the_end(session: Session, head: Actor) -> None:
    first, _ = add(session, "A", "B")
    close_bench(session, actor=head, now=NOW, bench_id=first)
    with pytest.raises(NotFound):
        place_bench(session, actor=head, now=NOW, bench_id=first, place=1)
    assert [bench.name for bench in list_benches(session, closed=True)] == ["B", "A"]
    reopen_bench(session, actor=head, now=NOW, bench_id=first)
    assert walk(session) == ["B", "A"]


def test_more_trays_than_room_is_seen(session: Session, head: Actor) -> None:
    (bench,) = add(session, "Mist")
    told = BenchEntry(name="Mist", capacity_trays=1)
    correct_bench(session, actor=head, now=NOW, bench_id=bench, version=1, entry=told)
    said = entry(add_plant(session), bench_id=bench, trays=2, per_tray=48)
    stick_batch(session, actor=head, today=TODAY, now=NOW, entry=said)
    assert list_loaded_benches(session)[0].is_full


def test_no_edit_overwrites_another(session: Session, head: Actor) -> None:
    (bench,) = add(session, "Mist")
    common = {"actor": head, "now": NOW, "bench_id": bench, "version": 1}
    correct_bench(session, entry=BenchEntry(name="Mist 1"), **common)
    with pytest.raises(ChangedMeanwhile):
        correct_bench(session, entry=BenchEntry(name="Mist 2"), **common)


def test_history_follows_a_bench_through_its_names(session: Session, head: Actor) -> None:
    (first,) = add(session, "A")
    correct = {"actor": head, "now": NOW, "bench_id": first}
    correct_bench(session, version=1, entry=BenchEntry(name="B"), **correct)
    (second,) = add(session, "A")
    correct_bench(session, version=2, entry=BenchEntry(name="C"), **correct)

    def told(name: str) -> list[str]:
        lines = list_history_of_named(session, kind="bench", name=name, field="name", zone="UTC")
        return [line.what for line in lines]

    assert told("C") == ["bench corrected", "bench corrected", "bench added"]
    assert told("A") == ["bench added"]
    assert get_bench(session, bench_id=second).name == "A"


def test_what_is_not_there_is_said(session: Session, head: Actor) -> None:
    common = {"actor": head, "now": NOW, "bench_id": 99}
    with pytest.raises(NotFound):
        close_bench(session, **common)
    with pytest.raises(NotFound):
        get_bench(session, bench_id=99)
