"""The sentences a page says about a rate."""

from dataclasses import replace

import pytest

from app.domain.strike_rates import NO_FACTS, Basis, GroupEstimate, RateSquare, rate_of
from app.domain.strike_rates_words import (
    basis_sentence,
    basis_words,
    chance_sentence,
    correlation_sentence,
    counts_words,
    estimate_words,
    few_sentence,
    leaning_sentence,
    outside_sentence,
    percent,
    plain_sentence,
    range_words,
    rate_sentence,
    weight_sentence,
)
from tests.domain.rate_batches import Counts, facts_of


def square_of(*batches: Counts) -> RateSquare:
    return rate_of(facts_of(batches))


def test_bounds_are_said_as_worst_and_best() -> None:
    square = square_of(Counts(rooted=201, lost=64, unrooted=147, counted_at=40))
    assert rate_sentence(square) == (
        "Of 412 stuck 201 rooted, 64 lost, 147 unrooted: at worst 49 %, at best 84 %."
    )
    assert basis_sentence(square) == (
        "The batch was not 63 days old at the last count. At worst none, at best all of the"
        " 147 cuttings without an outcome would root."
    )


def test_bounds_of_a_fresh_batch_claim_nothing() -> None:
    square = square_of(Counts(unrooted=96, counted_at=None))
    assert rate_sentence(square) == (
        "Of 96 stuck none rooted, 96 unrooted: at worst none of them, at best all of them."
    )


def test_bounds_close_together_are_not_called_the_same() -> None:
    square = square_of(Counts(rooted=790, lost=206, cleared_unrooted=4, counted_at=40))
    assert estimate_words(square) == "at worst 79.0 %, at best 79.4 %"
    nearly = square_of(Counts(rooted=9_997, lost=2, cleared_unrooted=1, counted_at=40))
    assert estimate_words(nearly) == "at worst over 99 %, at best over 99 %"


def test_bounds_are_no_promise_for_a_next_batch() -> None:
    # n_eff = 1000 / (1 + 999 x 0.12) = 8.27; Wilson's low end at 79.0 %, high end at 79.4 % of it.
    square = square_of(Counts(rooted=790, lost=206, cleared_unrooted=4, counted_at=40))
    assert chance_sentence(square) == (
        "That is what may become of these very cuttings. The rate behind them may be anything"
        " from 45 to 95 %, since batches differ."
    )
    assert chance_sentence(square_of(Counts(rooted=5, lost=5))) == ""


def test_some_young_batches_are_counted_out() -> None:
    old, young = Counts(rooted=9, lost=1), Counts(unrooted=1, rooted=9, counted_at=5)
    assert basis_sentence(square_of(old, old, young)).startswith("1 of 3 batches was not 63 days")
    assert basis_sentence(square_of(old, young, young)).startswith("2 of 3 batches were not 63")


def test_finished_batches_have_rate_and_range() -> None:
    square = square_of(*[Counts(rooted=20, lost=10)] * 10)
    assert rate_sentence(square) == "Of 300 stuck 200 rooted, 100 lost: 67 % (55 to 77 %)."
    assert basis_sentence(square) == "All batches are finished."
    assert basis_sentence(square_of(Counts(rooted=1, lost=1))) == "The batch is finished."


def test_the_landmark_is_said() -> None:
    open_one, done = Counts(rooted=20, lost=5, unrooted=5, counted_at=70), Counts(rooted=8, lost=2)
    later = " What roots later is not in it."
    assert basis_sentence(square_of(open_one)) == (
        "The batch was at least 63 days old at the last count." + later
    )
    assert basis_sentence(square_of(open_one, open_one)) == (
        "All batches were at least 63 days old at the last count." + later
    )
    assert basis_sentence(square_of(open_one, done)) == (
        "All batches are finished or were at least 63 days old at the last count." + later
    )


def test_no_data_says_no_data() -> None:
    square = rate_of(NO_FACTS)
    assert estimate_words(square) == "no data"
    assert rate_sentence(square) == "No data."
    assert basis_sentence(square) == "No batch answers to this yet."
    assert weight_sentence(square) == ""
    assert few_sentence(square) == ""


def test_every_state_that_holds_cuttings_is_named() -> None:
    counts = Counts(rooted=1_200, lost=40, dumped=30, cleared_unrooted=20, unrooted=10)
    assert counts_words(counts.facts.every) == (
        "1,300 stuck 1,200 rooted, 40 lost, 30 dumped, 20 cleared unrooted, 10 unrooted"
    )
    assert counts_words(Counts(dumped=30).facts.every) == "30 stuck none rooted, 30 dumped"


@pytest.mark.parametrize(
    ("share", "words"),
    [
        (0.0, "0 %"),
        (0.001, "under 1 %"),
        (0.005, "1 %"),
        (0.6449, "64 %"),
        (0.645, "65 %"),
        (0.9949, "99 %"),
        (0.999, "over 99 %"),
        (1.0, "100 %"),
    ],
)
def test_percentages_do_not_round_into_certainty(share: float, words: str) -> None:
    assert percent(share) == words


def test_even_all_or_none_rooted_has_its_range_beside_it() -> None:
    assert estimate_words(square_of(Counts(rooted=20))) == "100 % (61 to 100 %)"
    assert estimate_words(square_of(Counts(lost=20))) == "0 % (0 to 39 %)"
    assert range_words(0.0, high=0.384) == "0 to 38 %"


def test_few_batches_say_few() -> None:
    assert few_sentence(square_of(Counts(rooted=5))) == (
        "Few: only 1 batch. A next batch can turn out otherwise."
    )
    assert few_sentence(square_of(*[Counts(rooted=5)] * 2)).startswith("Few: only 2 batches.")
    assert few_sentence(square_of(*[Counts(rooted=5)] * 3)) == ""


def test_the_weight_is_said_in_separate_cuttings() -> None:
    assert weight_sentence(square_of(Counts(rooted=300))) == (
        "Tells us as much as 8 separate cuttings."
    )
    assert weight_sentence(square_of(Counts(rooted=1))) == "Tells us as much as 1 separate cutting."


def test_the_assumption_is_shown_as_one() -> None:
    assert correlation_sentence() == (
        "Cuttings of one batch stand or fall together, so every range here is wider than separate"
        " cuttings would give. Assumed until this nursery's own figure is known: a correlation of"
        " 0.12 between two cuttings of one batch. A batch of 300 then tells us no more than"
        " 8 separate cuttings would."
    )


def test_a_share_outside_its_range_is_explained() -> None:
    odd = square_of(Counts(rooted=300), *[Counts(lost=4)] * 20)
    assert outside_sentence(odd).startswith("Large and small batches turned out so differently")
    assert outside_sentence(square_of(Counts(rooted=3, lost=3))) == ""


def test_each_basis_has_its_words() -> None:
    square = square_of(Counts(rooted=20, lost=10))
    said = {basis: basis_sentence(replace(square, basis=basis)) for basis in Basis}
    assert list(said) == ["finished", "landmark", "bounds", "forecast", "none"]
    assert len(set(said.values())) == len(Basis)
    assert len({basis_words(basis) for basis in Basis}) == len(Basis)
    assert basis_words(Basis.LANDMARK) == "so far, at 63 days or more"


def test_a_forecast_says_how_much_of_it_is_forecast() -> None:
    facts = facts_of([Counts(rooted=10, lost=5, unrooted=35)])
    learned = GroupEstimate(
        share=0.6, low_share=0.4, high_share=0.8, forecast_share=0.7, leans=True
    )
    square = rate_of(facts, learned=learned)
    assert square.basis is Basis.FORECAST
    assert rate_sentence(square) == (
        "Of 50 stuck 10 rooted, 5 lost, 35 unrooted: 60 % (40 to 80 %)."
    )
    assert basis_sentence(square) == (
        "35 cuttings without an outcome (70 % of those stuck) are counted at the odds that"
        " cuttings still unrooted at their age have had here. This is mostly forecast."
    )
    assert leaning_sentence(square).startswith("Leans on the wider group")
    assert plain_sentence(square) == ""  # nothing is finished


def test_a_learned_figure_keeps_the_plain_one_beside_it() -> None:
    facts = facts_of([Counts(rooted=20, lost=10)])
    learned = GroupEstimate(
        share=0.6, low_share=0.5, high_share=0.7, forecast_share=0.0, leans=False
    )
    square = rate_of(facts, learned=learned)
    assert (square.basis, square.strike_share) == (Basis.FINISHED, 20 / 30)
    assert estimate_words(square) == "60 % (50 to 70 %)"
    assert plain_sentence(square).startswith("Plainly counted, of 1 batch finished: 67 % (")
    assert leaning_sentence(square) == "Stands by itself: it leans on no other group."
    assert leaning_sentence(rate_of(facts)) == ""


def test_a_learned_correlation_says_from_how_many_batches() -> None:
    assert "Learned from this nursery's 214 finished batches: a correlation of 0.08" in (
        correlation_sentence(0.081, finished=214)
    )
