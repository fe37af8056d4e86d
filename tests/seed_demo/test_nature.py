"""How cuttings fare: the numbers a told batch is made of."""

from random import Random
from statistics import fmean, pvariance

import pytest

from seed_demo.nature import LIKENESS, Fate, Mishap, draw_fate, shifted

STUCK = 100


def _fates(count: int = 800, **more: object) -> list[Fate]:
    dice = Random(1)
    given = {"stuck": STUCK, "rate": 0.7, "weeks": 5.0, "lost_to": "grey mould"} | more
    return [draw_fate(dice, **given) for _ in range(count)]  # type: ignore[arg-type]


def test_batches_scatter_as_much_as_meant() -> None:
    # Variance of a beta-binomial share: p(1-p)/n * (1 + (n-1) rho).
    shares = [len(fate.rooted_at) / STUCK for fate in _fates()]
    assert fmean(shares) == pytest.approx(0.7, abs=0.02)
    expected = 0.21 / STUCK * (1 + (STUCK - 1) * LIKENESS)
    assert pvariance(shares) == pytest.approx(expected, rel=0.15)


def test_cuttings_root_round_the_usual_time() -> None:
    days = sorted(day for fate in _fates() for day in fate.rooted_at)
    assert days[len(days) // 2] == pytest.approx(35, abs=1.5)
    assert days[0] >= 5


def test_every_cutting_is_rooted_lost_or_lingers() -> None:
    for fate in _fates(50):
        assert 0 <= len(fate.rooted_at) + len(fate.lost_at) <= STUCK
        assert fate.rooted_by(10_000) == len(fate.rooted_at)
        assert sum(fate.lost_by(10_000).values()) == len(fate.lost_at)
        assert (fate.rooted_by(0), fate.lost_by(0)) == (0, {})


def test_most_are_lost_to_the_usual_cause() -> None:
    lost = [cause for fate in _fates(200) for _, cause in fate.lost_at]
    assert 0.6 < lost.count("grey mould") / len(lost) < 0.85
    assert len(set(lost)) > 5


def test_a_mishap_takes_its_share_on_its_day() -> None:
    mishap = Mishap(age=9, share=0.4, cause="mist or power failure")
    fates = _fates(200, mishap=mishap)
    share = fmean(fate.lost_by(9).get(mishap.cause, 0) / STUCK for fate in fates)
    assert share == pytest.approx(0.4, abs=0.02)
    assert all(fate.lost_by(8).get(mishap.cause, 0) == 0 for fate in fates)


def test_a_shift_moves_the_log_odds() -> None:
    assert shifted(0.5, by=0.0) == pytest.approx(0.5)
    assert shifted(0.5, by=1.0) == pytest.approx(0.7311, abs=1e-4)
    assert shifted(0.99, by=5.0) == 0.99
    assert shifted(0.02, by=-5.0) == 0.01
