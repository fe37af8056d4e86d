"""What must hold for a batch as entered."""

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.domain.batch_rules import accept_batch, batch_problems, quantity_of
from app.domain.batches import BatchEntry, SourceKind, SourceLine, is_covered, is_uncovered
from app.domain.problems import NotAccepted

TODAY = date(2026, 11, 25)
PLAIN = BatchEntry(plant_name_id=1, stuck_on=TODAY, stuck=96)
FROM_PLANT = SourceLine(kind=SourceKind.STOCK_PLANT, stock_plant_id=31)


def problems(**changes: Any) -> dict[str, str]:
    found = batch_problems(replace(PLAIN, **changes), today=TODAY)
    return {problem.field: problem.sentence for problem in found}


def test_the_least_that_makes_a_batch_is_accepted() -> None:
    assert accept_batch(PLAIN, today=TODAY) == PLAIN


def test_a_batch_with_everything_said_is_accepted() -> None:
    entry = replace(
        PLAIN,
        sources=(replace(FROM_PLANT, number=60), SourceLine(kind=SourceKind.BOUGHT_IN, number=40)),
        trays=2, per_tray=50, gaps=4, taken_on=TODAY - timedelta(days=1), taken=104, thrown_out=8,
        stored_hours=20, stored_c=4, hours=1.5, length_cm=8, leaves_left=3, dip_s=5, per_place=1,
        bottom_heat_c=20, taken_over=("cover", "bottom_heat_c"),
    )  # fmt: skip
    assert accept_batch(entry, today=TODAY) == entry
    assert quantity_of(entry).label == "96 (2 trays of 50 less 4)"


@pytest.mark.parametrize("stuck", [0, -1, 1_000_001])
def test_at_least_one_and_at_most_a_million_are_stuck(stuck: int) -> None:
    assert problems(stuck=stuck) == {"stuck": "Give the number stuck, from 1 to 1,000,000."}


@pytest.mark.parametrize("stuck", [1, 1_000_000])
def test_the_bounds_of_the_number_stuck_are_inside(stuck: int) -> None:
    assert problems(stuck=stuck) == {}


def test_trays_less_gaps_are_what_was_stuck() -> None:
    assert "hold 100, not 96" in problems(trays=2, per_tray=50)["stuck"]


def test_no_more_is_thrown_out_than_was_taken() -> None:
    said = problems(taken=100, thrown_out=101)["thrown_out"]
    assert said == "Only 100 were taken, so 101 cannot have been thrown out."


def test_no_more_is_stuck_than_was_left() -> None:
    assert (
        "100 taken less 8 thrown out leave 92 to stick, not 96"
        in (problems(taken=100, thrown_out=8)["taken"])
    )
    assert problems(taken=96) == {}
    assert problems(thrown_out=8) == {}


def test_sources_give_no_more_than_was_taken() -> None:
    lines = (replace(FROM_PLANT, number=60), SourceLine(kind=SourceKind.COLLECTED, number=41))
    assert "101 together, more than the 100 taken" in problems(taken=100, sources=lines)["taken"]
    assert problems(sources=lines) == {}


def test_days_come_in_order() -> None:
    tomorrow = TODAY + timedelta(days=1)
    assert "still to come" in problems(stuck_on=tomorrow)["stuck_on"]
    assert "cannot have been taken after" in problems(taken_on=tomorrow)["taken_on"]
    assert problems(taken_on=TODAY) == {}
    assert "from 1950" in problems(stuck_on=date(1901, 1, 1))["stuck_on"]


def test_each_kind_of_source_says_what_it_must() -> None:
    nameless = SourceLine(kind=SourceKind.STOCK_PLANT)
    odd = SourceLine(kind=SourceKind.BOUGHT_IN, stock_plant_id=31, number=0)
    assert list(problems(sources=(nameless,))) == ["sources-0-stock_plant"]
    assert list(problems(sources=(FROM_PLANT, odd))) == [
        "sources-1-stock_plant",
        "sources-1-number",
    ]
    twice = problems(sources=(FROM_PLANT, FROM_PLANT))
    assert "named twice" in twice["sources-1-stock_plant"]
    long = replace(FROM_PLANT, condition="x" * 201)
    assert list(problems(sources=(long,))) == ["sources-0-condition"]


@pytest.mark.parametrize(
    ("field", "low", "high"),
    [
        ("stored_hours", 0, 8760),
        ("stored_c", -10, 40),
        ("hours", 0, 1000),
        ("length_cm", 0.1, 200),
        ("leaves_left", 0, 200),
        ("dip_s", 0, 172_800),
        ("per_place", 1, 1000),
        ("bottom_heat_c", -5, 45),
    ],
)
def test_measures_are_plausible(field: str, low: float, high: float) -> None:
    assert problems(**{field: low}) == {}
    assert problems(**{field: high}) == {}
    assert "Give from" in problems(**{field: low - 1})[field]
    assert "Give from" in problems(**{field: high + 1})[field]
    assert field in problems(**{field: float("nan")})


def test_texts_are_kept_to_a_length() -> None:
    assert "200 letters" in problems(cover="x" * 201)["cover"]
    assert "4,000 letters" in problems(notes="x" * 4001)["notes"]


def test_only_what_a_card_fills_is_taken_over() -> None:
    assert "does not fill stuck" in problems(taken_over=("stuck", "cover"))[""]


def test_every_problem_is_named_at_once() -> None:
    with pytest.raises(NotAccepted) as refusal:
        accept_batch(replace(PLAIN, stuck=0, taken=-1, bottom_heat_c=99), today=TODAY)
    fields = {problem.field for problem in refusal.value.problems}
    assert fields >= {"stuck", "taken", "bottom_heat_c"}


@given(st.integers(1, 10**6), st.integers(0, 10**6), st.integers(0, 10**6))
def test_what_is_accepted_adds_up(stuck: int, taken: int, thrown_out: int) -> None:
    entry = replace(PLAIN, stuck=stuck, taken=taken, thrown_out=thrown_out)
    accepted = not list(batch_problems(entry, today=TODAY))
    assert accepted == (thrown_out <= taken and stuck <= taken - thrown_out)


def test_words_of_a_cover() -> None:
    assert is_uncovered("None")
    assert is_covered("mist")
    assert not is_covered("none")
    assert not is_covered("")
    assert not is_uncovered("")


@pytest.mark.parametrize(
    ("numbers", "refused"),
    [((60, 44), False), ((60, 36), False), ((60, 35), True), ((60, 45), True), ((60, None), False)],
)
def test_sources_that_all_have_a_number_add_up_to_what_was_taken(
    numbers: tuple[int | None, ...], refused: bool
) -> None:
    sources = tuple(SourceLine(kind=SourceKind.BOUGHT_IN, number=number) for number in numbers)
    found = problems(sources=sources, taken=104, thrown_out=8)
    assert ("taken" in found) is refused


def test_leave_belongs_to_what_was_collected() -> None:
    bought = SourceLine(kind=SourceKind.BOUGHT_IN, permit="14", place="by the lane")
    assert set(problems(sources=(bought,))) == {"sources-0-permit", "sources-0-place"}
    assert not problems(sources=(replace(bought, kind=SourceKind.COLLECTED),))
