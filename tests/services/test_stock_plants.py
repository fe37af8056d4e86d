"""Stock plants get codes that are never reused, stand somewhere, are cut, and are discarded."""

from dataclasses import replace
from datetime import timedelta

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.people import Actor
from app.domain.problems import ChangedMeanwhile, NotAccepted, NotFound
from app.domain.stock_plants import Origin, StockPlantEntry, StockPlantState
from app.services.batches import stick_batch
from app.services.stock_plants import (
    add_stock_plant,
    correct_stock_plant,
    discard_stock_plant,
    keep_stock_plant,
    reinstate_stock_plant,
)
from app.store.models.benches import Bench, BenchStay
from app.store.models.history import HistoryLine
from app.store.queries.stock_plant_cuts import list_cutting_days
from app.store.queries.stock_plants import (
    StockPlantsIn,
    find_stock_plants,
    get_stock_plant,
    list_stock_plants,
    list_stock_plants_of,
)
from tests.conftest import NOW, TODAY
from tests.services.batch_records import add_bench, add_plant, days_ago, entry, from_stock_plant


def add(session: Session, plant: int, **more: object) -> tuple[int, str]:
    told = StockPlantEntry(plant_name_id=plant, **more)  # type: ignore[arg-type]
    added = add_stock_plant(session, actor=None, today=TODAY, now=NOW, entry=told)
    return added.id, added.code


def cut(
    session: Session,
    head: Actor,
    plant: int,
    *sources: tuple[int, int | None],
    days: int = 0,
    **more: object,
) -> str:
    said = entry(
        plant,
        stuck_on=days_ago(days),
        sources=tuple(from_stock_plant(source, number) for source, number in sources),
        **more,
    )
    return stick_batch(session, actor=head, today=TODAY, now=NOW, entry=said).code


def codes(session: Session, wanted: StockPlantsIn, text: str = "") -> list[str]:
    page = list_stock_plants(session, on=TODAY, wanted=wanted, text=text)
    return [line.code for line in page.lines]


def test_codes_count_up_and_a_foreign_one_is_kept(session: Session) -> None:
    plant = add_plant(session)
    assert add(session, plant)[1] == "S-0001"
    kept = {"actor": None, "today": TODAY, "now": NOW, "plant_name_id": plant}
    foreign = keep_stock_plant(session, number=31, **kept)
    assert keep_stock_plant(session, number=31, **kept) == foreign
    assert add(session, plant)[1] == "S-0032"
    assert get_stock_plant(session, code="s31").code == "S-0031"


def test_a_stock_plant_is_kept_as_entered(session: Session, head: Actor) -> None:
    plant, bench = add_plant(session), add_bench(session)
    batch = stick_batch(
        session, actor=head, today=TODAY, now=NOW, entry=entry(plant, stuck_on=days_ago(400))
    )
    told = StockPlantEntry(
        plant_name_id=plant,
        plants=12,
        bench_id=bench,
        state=StockPlantState.WATCHED,
        state_reason="pale leaves",
        origin=Origin.RAISED_HERE,
        raised_from_id=batch.id,
        came_on=days_ago(200),
        rest_weeks=6,
        expected_per_plant=7.5,
        cut_back_on=days_ago(30),
        renew_by=TODAY + timedelta(days=300),
        tested_until=TODAY + timedelta(days=100),
        true_to_type_on=days_ago(20),
        flowering=False,
        reentry_at=NOW,
        notes="north side",
    )
    added = add_stock_plant(session, actor=head, today=TODAY, now=NOW, entry=told)
    known = get_stock_plant(session, code=added.code)
    assert known.entry == told
    assert (known.plant, known.bench, known.raised_from) == (
        "Hebe 'Great Orme'",
        "Mist bench 2",
        batch.code,
    )
    stay = session.scalars(select(BenchStay).where(BenchStay.stock_plant_id == added.id)).one()
    assert (stay.bench_id, stay.from_on, stay.to_on) == (bench, days_ago(200), None)


def test_what_it_leans_on_has_to_fit(session: Session, head: Actor) -> None:
    plant = add_plant(session)
    closed = add_bench(session, "Old frame")
    session.get_one(Bench, closed).closed_at = NOW
    batch = stick_batch(
        session, actor=head, today=TODAY, now=NOW, entry=entry(plant, stuck_on=days_ago(10))
    )
    raised = {"origin": Origin.RAISED_HERE, "raised_from_id": batch.id}
    for more, field in (
        ({"bench_id": closed}, "bench"),
        ({"origin": Origin.RAISED_HERE, "raised_from_id": 99}, "raised_from"),
        (raised | {"came_on": days_ago(11)}, "came_on"),
    ):
        with pytest.raises(NotAccepted) as refused:
            add(session, plant, **more)
        assert [problem.field for problem in refused.value.problems] == [field]
    with pytest.raises(NotAccepted) as refused:
        add(session, 99)
    assert refused.value.problems[0].field == "plant"


def test_a_correction_moves_it_and_tells_names_not_ids(session: Session, head: Actor) -> None:
    plant, first, second = add_plant(session), add_bench(session), add_bench(session, "Frame")
    plant_id, code = add(session, plant, bench_id=first, came_on=days_ago(9))
    told = replace(get_stock_plant(session, code=code).entry, bench_id=second, rest_weeks=3)
    common = {"actor": head, "today": TODAY, "now": NOW, "stock_plant_id": plant_id}
    correct_stock_plant(session, version=1, entry=told, **common)
    correct_stock_plant(session, version=2, entry=told, **common)  # nothing differs
    stays = session.execute(
        select(BenchStay.bench_id, BenchStay.from_on, BenchStay.to_on).order_by(BenchStay.id)
    ).all()
    assert [tuple(stay) for stay in stays] == [
        (first, days_ago(9), TODAY),
        (second, TODAY, None),
    ]
    change = session.scalars(
        select(HistoryLine.change).where(HistoryLine.what == "stock plant corrected")
    ).one()
    assert change == '{"bench":["Mist bench 2","Frame"],"rest_weeks":[null,3]}'
    with pytest.raises(ChangedMeanwhile) as stale:
        correct_stock_plant(session, version=1, entry=replace(told, bench_id=first), **common)
    assert [(c.field, c.now, c.wanted) for c in stale.value.changes] == [
        ("bench", "Frame", "Mist bench 2")
    ]


def test_a_closed_bench_it_stands_on_is_no_bar_to_a_correction(
    session: Session, head: Actor
) -> None:
    bench = add_bench(session)
    plant_id, code = add(session, add_plant(session), bench_id=bench)
    session.get_one(Bench, bench).closed_at = NOW
    told = replace(get_stock_plant(session, code=code).entry, rest_weeks=2)
    correct_stock_plant(
        session, actor=head, today=TODAY, now=NOW, stock_plant_id=plant_id, version=1, entry=told
    )
    assert get_stock_plant(session, code=code).entry.rest_weeks == 2


def test_a_discarded_one_stays_readable_and_comes_back_watched(
    session: Session, head: Actor
) -> None:
    bench = add_bench(session)
    plant_id, code = add(session, add_plant(session), bench_id=bench)
    common = {"actor": head, "today": TODAY, "now": NOW, "stock_plant_id": plant_id}
    discard_stock_plant(session, version=1, discarded_on=TODAY, reason=" virus  seen ", **common)
    known = get_stock_plant(session, code=code)
    assert (known.is_discarded, known.discarded_on, known.entry.state_reason) == (
        True,
        TODAY,
        "virus seen",
    )
    with pytest.raises(NotAccepted, match="discarded"):
        correct_stock_plant(session, version=2, entry=known.entry, **common)
    with pytest.raises(NotAccepted, match="already"):
        discard_stock_plant(session, version=2, discarded_on=TODAY, reason="again", **common)
    assert session.scalars(select(BenchStay.to_on)).all() == [TODAY]
    reinstate_stock_plant(session, **common)
    known = get_stock_plant(session, code=code)
    assert (known.entry.state, known.discarded_on) == (StockPlantState.WATCHED, None)
    assert session.scalars(select(BenchStay.to_on).order_by(BenchStay.id)).all() == [TODAY, None]
    with pytest.raises(NotAccepted, match="not discarded"):
        reinstate_stock_plant(session, **common)


def test_a_discard_needs_its_reason_and_a_day_that_can_be(session: Session, head: Actor) -> None:
    plant = add_plant(session)
    plant_id, _ = add(session, plant)
    cut(session, head, plant, (plant_id, 20), days=3)
    common = {"actor": head, "today": TODAY, "now": NOW, "stock_plant_id": plant_id, "version": 1}
    for day, reason, field in (
        (TODAY, " ", "reason"),
        (TODAY + timedelta(days=1), "virus", "discarded_on"),
        (days_ago(4), "virus", "discarded_on"),
    ):
        with pytest.raises(NotAccepted) as refused:
            discard_stock_plant(session, discarded_on=day, reason=reason, **common)
        assert [problem.field for problem in refused.value.problems] == [field]


def test_lists_hold_what_they_say(session: Session, head: Actor) -> None:
    hebe, rosa = add_plant(session), add_plant(session, "Rosa gallica")
    fit, _ = add(session, hebe, rest_weeks=2)
    rested, _ = add(session, hebe, rest_weeks=2)
    resting, _ = add(session, rosa, rest_weeks=3)
    add(session, rosa, state=StockPlantState.ON_HOLD, state_reason="spots")
    by_hand, _ = add(session, rosa, state=StockPlantState.RESTING)
    gone, _ = add(session, rosa)
    discard_stock_plant(
        session, actor=head, today=TODAY, now=NOW, stock_plant_id=gone, version=1,
        discarded_on=TODAY, reason="old",
    )  # fmt: skip
    cut(session, head, hebe, (rested, 10), days=14)
    cut(session, head, rosa, (resting, 10), days=14)
    assert (fit, rested, resting, by_hand) == (1, 2, 3, 5)
    assert codes(session, StockPlantsIn.FIT) == ["S-0001", "S-0002"]
    assert codes(session, StockPlantsIn.RESTING) == ["S-0003", "S-0005"]
    assert codes(session, StockPlantsIn.ON_HOLD) == ["S-0004"]
    assert codes(session, StockPlantsIn.DISCARDED) == ["S-0006"]
    assert len(codes(session, StockPlantsIn.KEPT)) == 5
    assert len(codes(session, StockPlantsIn.ALL)) == 6
    assert codes(session, StockPlantsIn.KEPT, "gallica rosa") == ["S-0003", "S-0004", "S-0005"]
    assert codes(session, StockPlantsIn.KEPT, "s 4") == ["S-0004"]
    found = find_stock_plants(session, text="hebe", on=TODAY, limit=1)
    assert [(line.code, line.plant) for line in found] == [("S-0001", "Hebe 'Great Orme'")]
    assert find_stock_plants(session, text="S-0006", on=TODAY, limit=9) == ()
    of_rosa = list_stock_plants_of(session, plant_name_id=rosa, on=TODAY)
    assert [line.standing.state for line in of_rosa] == ["resting", "on hold", "resting"]


def test_the_list_is_turned_page_by_page(session: Session) -> None:
    plant = add_plant(session)
    for _ in range(5):
        add(session, plant)

    def page(**more: int) -> tuple[list[int], bool, bool]:
        found = list_stock_plants(session, on=TODAY, limit=2, **more)
        return [line.number for line in found.lines], found.earlier, found.later

    assert page() == ([1, 2], False, True)
    assert page(after=2) == ([3, 4], True, True)
    assert page(after=4) == ([5], True, False)
    assert page(before=3) == ([1, 2], False, True)
    assert page(before=5) == ([3, 4], True, True)


def test_what_was_taken_is_told_by_day(session: Session, head: Actor) -> None:
    plant = add_plant(session)
    first, code = add(session, plant)
    second, _ = add(session, plant)
    alone = cut(session, head, plant, (first, None), days=30, taken=100)
    shared = cut(session, head, plant, (first, 40), (second, 56), days=9)
    unknown = cut(session, head, plant, (first, None), (second, None), days=9)
    days = list_cutting_days(session, stock_plant_id=first)
    assert [(day.cut_on, day.number) for day in days] == [(days_ago(9), 40), (days_ago(30), 100)]
    assert [batch.code for day in days for batch in day.batches] == [unknown, shared, alone]
    assert get_stock_plant(session, code=code).last_cut_on == days_ago(9)
    assert days[0].batches[0].number is None


def test_what_is_not_there_is_said(session: Session, head: Actor) -> None:
    for code in ("S-0099", "nonsense", "26-0001"):
        with pytest.raises(NotFound):
            get_stock_plant(session, code=code)
    with pytest.raises(NotFound):
        reinstate_stock_plant(session, actor=head, today=TODAY, now=NOW, stock_plant_id=99)
