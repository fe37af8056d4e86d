"""What may be said of a group's rate: finished, old enough, bounds, or nothing."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.domain.strike_rates import (
    ASSUMED_CORRELATION,
    NO_FACTS,
    Basis,
    GroupFacts,
    Tally,
    rate_of,
)
from app.stats.clusters import effective_size
from app.stats.intervals import wilson_interval
from tests.domain.rate_batches import Counts, facts_of

# Ten finished batches of an invented example; limits COMPUTED apart from this code.
ROOTED = (22, 31, 14, 40, 9, 27, 18, 35, 12, 25)
STUCK = (30, 40, 20, 50, 20, 40, 30, 45, 20, 30)


def finished(rooted: int, stuck: int) -> Counts:
    return Counts(rooted=rooted, lost=stuck - rooted)


def test_the_worked_example() -> None:
    square = rate_of(facts_of([finished(*pair) for pair in zip(ROOTED, STUCK, strict=True)]))
    assert square.basis is Basis.FINISHED
    assert square.strike_share == pytest.approx(233 / 325)
    assert square.effective_cuttings == pytest.approx(66.90, abs=5e-3)
    assert square.low_share == pytest.approx(0.581, abs=5e-4)
    assert square.high_share == pytest.approx(0.796, abs=5e-4)
    assert (square.estimate_share, square.estimate_low_share, square.estimate_high_share) == (
        square.strike_share,
        square.low_share,
        square.high_share,
    )


def test_plum_root_cuttings_are_plain_arithmetic() -> None:
    # Bartlett (1935) J. R. Statist. Soc. Suppl. 2:248-252; Hand et al. (1994) no. 19. CONFIRMED.
    shares = [rate_of(facts_of([finished(k, 240)])).strike_share for k in (156, 107, 84, 31)]
    assert shares == pytest.approx([0.65, 0.445833, 0.35, 0.129167], abs=5e-7)


def test_no_batches_give_no_figure_at_all() -> None:
    square = rate_of(NO_FACTS)
    assert square.basis is Basis.NONE
    assert not square.few
    assert square.strike_share is None
    assert square.low_share is None
    assert square.estimate_share is None
    assert square.estimate_low_share is None


def test_one_young_batch_makes_the_whole_group_bounds() -> None:
    square = rate_of(
        facts_of([finished(20, 30), Counts(rooted=5, lost=3, unrooted=22, counted_at=62)])
    )
    assert square.basis is Basis.BOUNDS
    assert square.estimate_share is None
    assert square.estimate_low_share == pytest.approx(25 / 60)
    assert square.estimate_high_share == pytest.approx(47 / 60)
    assert square.strike_share == pytest.approx(20 / 30)


def test_on_the_landmark_day_a_batch_is_old_enough() -> None:
    square = rate_of(
        facts_of([finished(20, 30), Counts(rooted=5, lost=3, unrooted=22, counted_at=63)])
    )
    worth = 2 * effective_size(30, correlation=ASSUMED_CORRELATION)
    interval = wilson_interval(worth * 25 / 60, size=worth)
    assert interval is not None
    assert square.basis is Basis.LANDMARK
    assert square.estimate_share == pytest.approx(25 / 60)
    assert square.estimate_low_share == pytest.approx(interval.low)
    assert square.estimate_high_share == pytest.approx(interval.high)


def test_a_batch_never_counted_is_never_old_enough() -> None:
    square = rate_of(facts_of([Counts(unrooted=40, counted_at=None)]))
    assert square.basis is Basis.BOUNDS
    assert (square.estimate_low_share, square.estimate_high_share) == (0.0, 1.0)


def test_cleared_unrooted_is_neither_rooted_nor_failed() -> None:
    early = rate_of(facts_of([Counts(rooted=6, lost=4, cleared_unrooted=10, counted_at=30)]))
    late = rate_of(facts_of([Counts(rooted=6, lost=4, cleared_unrooted=10, counted_at=70)]))
    assert early.basis is Basis.BOUNDS
    assert (early.estimate_low_share, early.estimate_high_share) == pytest.approx((0.3, 0.8))
    assert early.strike_share is None
    assert late.basis is Basis.LANDMARK
    assert late.estimate_share == pytest.approx(0.3)


def test_dumped_counts_as_not_rooted() -> None:
    square = rate_of(facts_of([Counts(rooted=6, lost=4, dumped=10)]))
    assert square.basis is Basis.FINISHED
    assert square.strike_share == pytest.approx(0.3)


@pytest.mark.parametrize(("batches", "few"), [(1, True), (2, True), (3, False)])
def test_fewer_than_three_batches_are_few(batches: int, few: bool) -> None:
    assert rate_of(facts_of([finished(10, 20)] * batches)).few is few


def test_none_and_all_rooted_are_not_certain() -> None:
    none, every = rate_of(facts_of([finished(0, 20)])), rate_of(facts_of([finished(20, 20)]))
    # n_eff = 20 / (1 + 19 x 0.12); limits z^2 / (n_eff + z^2) and its mirror. COMPUTED by hand.
    assert (none.low_share, none.high_share) == pytest.approx((0.0, 0.38650), abs=5e-5)
    assert (every.low_share, every.high_share) == pytest.approx((0.61350, 1.0), abs=5e-5)


def test_the_widest_interval_holds_whatever_becomes_of_the_unknown() -> None:
    young = Counts(rooted=5, lost=3, cleared_unrooted=2, unrooted=20, counted_at=20)
    widest = facts_of([young, finished(20, 30)]).every.widest_interval
    none = facts_of([finished(5, 30), finished(20, 30)]).every.interval
    every = facts_of([finished(27, 30), finished(20, 30)]).every.interval
    assert widest is not None
    assert none is not None
    assert every is not None
    assert (widest.low, widest.high) == pytest.approx((none.low, every.high))
    assert NO_FACTS.every.widest_interval is None


def test_a_large_batch_does_not_carry_the_interval_with_it() -> None:
    square = rate_of(facts_of([finished(300, 300), *[finished(0, 4)] * 20]))
    assert square.is_outside
    assert not rate_of(facts_of([finished(10, 20)] * 3)).is_outside


COUNTS = st.builds(
    Counts,
    rooted=st.integers(0, 60),
    lost=st.integers(0, 60),
    dumped=st.integers(0, 20),
    cleared_unrooted=st.integers(0, 20),
    unrooted=st.integers(0, 60),
    counted_at=st.one_of(st.none(), st.integers(1, 200)),
).filter(lambda counts: counts.stuck > 0)


@given(st.lists(COUNTS, max_size=12))
def test_what_always_holds(batches: list[Counts]) -> None:
    facts = facts_of(batches)
    square = rate_of(facts)
    low, high = square.estimate_low_share, square.estimate_high_share
    assert (square.basis is Basis.NONE) == (not batches)
    assert (square.basis is Basis.FINISHED) == (
        bool(batches) and all(batch.finished for batch in batches)
    )
    assert (square.estimate_share is None) == (square.basis in {Basis.NONE, Basis.BOUNDS})
    assert (low is None) == (high is None) == (not batches)
    if low is not None and high is not None:
        assert 0.0 <= low < high <= 1.0
    if square.basis is not Basis.NONE:
        assert 0.0 < square.effective_cuttings <= facts.every.stuck + 1e-9


@given(st.lists(COUNTS, max_size=6), st.lists(COUNTS, max_size=6))
def test_groups_add_up(some: list[Counts], others: list[Counts]) -> None:
    together, apart = facts_of(some + others), facts_of(some).plus(facts_of(others))
    assert apart.every.stuck == together.every.stuck
    assert apart.too_young == together.too_young
    assert apart.finished.rooted == together.finished.rooted
    assert apart.every.effective_cuttings == pytest.approx(together.every.effective_cuttings)
    assert rate_of(apart).basis is rate_of(together).basis


def test_rounding_cannot_make_more_rooted_than_stuck() -> None:
    every = Tally(
        batches=1, stuck=3, rooted=3, effective_cuttings=2.4, effective_rooted=2.4000000000000004
    )
    square = rate_of(GroupFacts(every=every, finished=every, too_young=0))
    assert square.high_share == 1.0
