"""The working of a rate: each step that was taken, with numbers that can be done by hand."""

from app.domain.rate_workings import CountedBatch, OpenBatch, RateContext, steps_of
from app.domain.strike_rates import GroupEstimate, rate_of
from tests.domain.rate_batches import Counts, facts_of

LEARNED = GroupEstimate(share=0.6, low_share=0.5, high_share=0.7, forecast_share=0.0, leans=True)


def _context(**more: object) -> RateContext:
    values = {"correlation": 0.12, "finished": 0, "example": None, "wider": None} | more
    return RateContext(**values)  # type: ignore[arg-type]


def test_a_finished_batch_by_hand() -> None:
    # one batch of 240 of which 156 rooted: Bartlett 1935, J. R. Statist. Soc. Suppl. 2:248-252
    square = rate_of(facts_of([Counts(rooted=156, lost=84)]))
    example = CountedBatch(code="26-0001", stuck=240)
    plain, worth, wilson = steps_of(square, context=_context(example=example))
    assert plain.numbers == "156 / 240 = 65 %"
    # 240 / (1 + 239 x 0.12) = 240 / 29.68 = 8.09
    assert worth.numbers.startswith("26-0001: 240 / (1 + 239 x 0.120) = 8.1; all 1 batches")
    assert "an assumption without a source" in worth.meaning
    assert wilson.numbers.startswith("k = 5.3 of n = 8.1 separate cuttings, z = 1.960: ")


def test_open_ones_give_bounds_and_odds() -> None:
    square = rate_of(facts_of([Counts(rooted=10, lost=5, unrooted=35)]), learned=LEARNED)
    waiting = OpenBatch(code="26-0147", unrooted=35, age_days=30, expected=20.4)
    steps = {
        step.title: step for step in steps_of(square, context=_context(open_batches=(waiting,)))
    }
    assert steps["At worst and at best"].numbers == "10 / 50 = 20 %, and (10 + 35) / 50 = 90 %"
    odds = steps["The cuttings without an outcome"]
    assert odds.numbers == "26-0147: 35 unrooted at day 30, about 20 more to come"


def test_leaning_shows_the_wider_group() -> None:
    square = rate_of(facts_of([Counts(rooted=20, lost=10)]), learned=LEARNED)
    wider = rate_of(facts_of([Counts(rooted=50, lost=50)]), learned=LEARNED)
    leaning = steps_of(square, context=_context(wider=wider))[-1]
    assert leaning.title.endswith("leaning on the wider group")
    assert leaning.numbers == "wider group: 60 % (50 to 70 %); this group: 60 % (50 to 70 %)"


def test_nothing_to_work_out() -> None:
    assert steps_of(rate_of(facts_of([])), context=_context()) == ()
