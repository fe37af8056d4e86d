"""What one batch alone says of its strike rate.

Wilson's interval on effective cuttings: E. B. Wilson 1927, J. Amer. Stat. Assoc. 22:209-212; here
96 cuttings at a correlation of 0.12 are worth 96 / (1 + 95 * 0.12) = 7.742 (own arithmetic).
"""

from datetime import date, timedelta

import pytest

from app.domain.batch_rates import batch_rate, batch_rate_sentences
from app.domain.outcomes import Standing
from app.domain.strike_rates import Basis

STUCK_ON = date(2026, 9, 1)


def test_a_batch_with_unrooted_cuttings_has_bounds() -> None:
    standing = Standing(stuck=96, rooted=38, lost=11, counted_on=STUCK_ON + timedelta(days=35))
    square = batch_rate(standing, stuck_on=STUCK_ON)
    assert square.basis is Basis.BOUNDS
    assert square.estimate_low_share == pytest.approx(38 / 96)
    assert square.estimate_high_share == pytest.approx(85 / 96)
    assert batch_rate_sentences(standing, stuck_on=STUCK_ON)[0] == (
        "Of 96 stuck 38 rooted, 11 lost, 47 unrooted: at worst 40 %, at best 89 %."
    )


def test_a_finished_batch_has_a_rate_with_its_interval() -> None:
    square = batch_rate(Standing(stuck=96, rooted=72, lost=24), stuck_on=STUCK_ON)
    assert square.basis is Basis.FINISHED
    assert square.effective_cuttings == pytest.approx(7.742, abs=0.001)
    assert square.strike_share == 0.75
    assert square.low_share is not None
    assert square.high_share is not None
    assert 0.35 < square.low_share < 0.45
    assert 0.92 < square.high_share < 0.97


def test_a_batch_counted_late_stands_at_the_landmark() -> None:
    old = Standing(stuck=96, rooted=38, counted_on=STUCK_ON + timedelta(days=63))
    assert batch_rate(old, stuck_on=STUCK_ON).basis is Basis.LANDMARK


def test_what_was_cleared_unrooted_stays_unknown() -> None:
    standing = Standing(stuck=96, rooted=38, cleared_unrooted=58)
    square = batch_rate(standing, stuck_on=STUCK_ON)
    assert square.basis is Basis.BOUNDS
    assert square.estimate_high_share == 1.0


def test_one_batch_is_said_to_be_few() -> None:
    finished = Standing(stuck=10, rooted=7, lost=3, counted_on=STUCK_ON)
    assert "only 1 batch" in batch_rate_sentences(finished, stuck_on=STUCK_ON)[-1]


def test_nothing_counted_is_no_rate() -> None:
    fresh = Standing(stuck=96)
    assert batch_rate_sentences(fresh, stuck_on=STUCK_ON) == (
        "96 cuttings unrooted, not counted yet.",
    )
