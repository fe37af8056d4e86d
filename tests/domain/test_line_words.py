"""Lines in words, and the rates of generations."""

from datetime import date, timedelta

import pytest

from app.domain.batch_rates import batch_rate
from app.domain.line_rates import LineBatch, rates_by_generation
from app.domain.line_words import age_words, falling_words, generation_words, members_words
from app.domain.lines import MemberKind
from app.domain.outcomes import Standing
from app.domain.strike_rates import Basis

TODAY = date(2026, 11, 25)


@pytest.mark.parametrize(
    ("days", "words"),
    [(0, "0 days"), (1, "1 day"), (45, "45 days"), (100, "3 months"), (800, "2 years")],
)
def test_an_age_is_said_in_what_one_would_say(days: int, words: str) -> None:
    assert age_words(TODAY - timedelta(days=days), today=TODAY) == words
    assert age_words(None, today=TODAY) == ""


def test_generations_and_numbers_in_words() -> None:
    assert generation_words(0) == "first plants"
    assert generation_words(2) == "generation 2"
    batch, plant = MemberKind.BATCH, MemberKind.STOCK_PLANT
    assert members_words([batch, plant, batch]) == "2 batches and 1 stock plant"
    assert members_words([plant, plant]) == "2 stock plants"
    assert members_words([]) == "nothing"


def line_batch(generation: int, rooted: int, *, left: int = 0, days: int = 200) -> LineBatch:
    stuck_on = TODAY - timedelta(days=days)
    standing = Standing(
        stuck=100, rooted=rooted, lost=100 - rooted - left, counted_on=stuck_on + timedelta(days=40)
    )
    return LineBatch(generation=generation, stuck_on=stuck_on, standing=standing)


def test_the_rate_of_a_generation_is_that_of_its_batches_together() -> None:
    first, second = rates_by_generation([line_batch(2, 30), line_batch(1, 80), line_batch(1, 60)])
    assert (first.generation, second.generation) == (1, 2)
    every = first.square.facts.every
    assert (every.batches, every.stuck, every.rooted) == (2, 200, 140)
    alone = batch_rate(Standing(stuck=100, rooted=30, lost=70), stuck_on=TODAY)
    assert second.square.estimate_low_share == pytest.approx(alone.estimate_low_share)
    assert rates_by_generation([]) == ()


def test_a_failing_clone_is_named_only_where_the_ranges_do_not_touch() -> None:
    good = [line_batch(1, 90) for _ in range(6)]
    bad = [line_batch(2, 15) for _ in range(6)]
    assert falling_words(rates_by_generation(good + bad)).startswith(
        "Generation 2 struck less than generation 1"
    )
    assert falling_words(rates_by_generation(good + [line_batch(2, 85)] * 6)) == ""
    # Two batches are too few to blame a clone for, and a clone that improves is no failing one.
    assert falling_words(rates_by_generation(good + bad[:2])) == ""
    swapped = [line_batch(1, 15)] * 6 + [line_batch(2, 90)] * 6
    assert falling_words(rates_by_generation(swapped)) == ""


def test_batches_still_growing_blame_nobody() -> None:
    good = [line_batch(1, 90) for _ in range(6)]
    young = [line_batch(2, 5, left=5) for _ in range(6)]
    rates = rates_by_generation(good + young)
    assert rates[1].square.basis is Basis.BOUNDS
    assert falling_words(rates) == ""
