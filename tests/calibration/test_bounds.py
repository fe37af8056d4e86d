"""Shortened forms of the calibration claims, with bounds that a plainer method would not meet.

The full tables come from `python -m tests.calibration`; here few seeded nurseries stand for them,
so that the bounds are wider by the error of so few. Each claim is tried a second time with a
plain method in place of ours, which must fail.
"""

from dataclasses import dataclass

import numpy as np
import pytest

from tests.calibration import (
    intervals,
    next_looks,
    open_batches,
    plans,
    small_groups,
    standing_out,
    times,
    two_ways,
    whole_nursery,
)
from tests.calibration.__main__ import CLAIMS, main
from tests.calibration.tallies import Tally
from tests.simulated_nursery import STRONG, RootingShape


def all_of(tallies: list[Tally]) -> Tally:
    together = Tally()
    for tally in tallies:
        together.join(tally)
    return together


@pytest.mark.parametrize("batches", [1, 3, 30])
@pytest.mark.parametrize("known", ["nothing", "learned"])
def test_intervals_hold_the_truth_and_pooled_ones_do_not(batches: int, known: str) -> None:
    rng = np.random.default_rng(101)
    found = []
    for correlation in intervals.CORRELATIONS:
        before = (
            intervals.NOTHING
            if known == "nothing"
            else intervals.learned(correlation=correlation, rng=rng)
        )
        found += [
            intervals.compared(
                batches=batches,
                correlation=correlation,
                rate=rate,
                known=before,
                runs=150,
                rng=rng,
            )
            for rate in intervals.RATES
        ]
    ours, effective, pooled = (
        all_of([getattr(one, name) for one in found]) for name in ("ours", "effective", "pooled")
    )
    assert 0.93 <= ours.coverage <= 0.98
    assert 0.92 <= effective.coverage <= 0.985
    assert pooled.coverage < 0.80


@dataclass(frozen=True, kw_only=True)
class LastWeeks:
    found: dict[str, Tally]

    def holds(self, method: str) -> bool:
        """Whether the method meets the bounds: coverage 90 % or more, bias within 2 points."""
        tally = self.found[method]
        return tally.answered == 1.0 and tally.coverage >= 0.90 and abs(tally.bias) <= 0.02


@pytest.fixture(scope="module")
def last_weeks() -> LastWeeks:
    # nine nurseries of each rate and habit, 25 batches of the last ten weeks in each
    rng = np.random.default_rng(102)
    cells = [
        open_batches.tallies(rate=rate, death=death, asked=25, runs=9, rng=rng)
        for rate in open_batches.RATES
        for death in open_batches.DEATHS.values()
    ]
    methods = open_batches.METHODS
    return LastWeeks(found={m: all_of([cell[m] for cell in cells]) for m in methods})


def test_the_forecast_is_right_while_batches_wait(last_weeks: LastWeeks) -> None:
    assert last_weeks.holds("forecast")


@pytest.mark.parametrize("method", open_batches.METHODS[1:])
def test_no_plain_ratio_is(last_weeks: LastWeeks, method: str) -> None:
    assert not last_weeks.holds(method)


def test_each_genus_of_a_whole_nursery() -> None:
    rng = np.random.default_rng(103)
    found = whole_nursery.tallies(
        batches=120, seasonal=True, runs=12, rng=rng, methods=whole_nursery.METHODS[:2]
    )
    ours, plain = found.values()
    assert ours.answered == 1.0
    assert 0.90 <= ours.coverage <= 0.99
    assert abs(ours.bias) <= 0.03
    assert ours.rmse < 0.6 * plain.rmse
    assert plain.coverage < 0.5


def test_small_groups_are_nearer_the_truth_when_they_lean() -> None:
    rng = np.random.default_rng(104)
    for crossed in (False, True):
        found = small_groups.tallies(batches=100, crossed=crossed, runs=15, rng=rng)
        leaning, plain = found["1"]
        assert 0.91 <= leaning.coverage <= 0.98
        assert leaning.rmse < 0.8 * plain.rmse
        assert leaning.width < 0.85 * plain.width


def test_who_is_worse_is_found_and_nobody_else() -> None:
    rng = np.random.default_rng(105)
    for people in (6, 15):
        ours, plain = standing_out.scores(people=people, batches=400, runs=60, rng=rng, deficit=0.2)
        assert ours.found >= 0.8
        assert ours.innocent <= 0.02
        assert plain.innocent > 0.5
    alike, plain = standing_out.scores(people=15, batches=400, runs=60, rng=rng)
    assert alike.innocent <= 0.02
    assert plain.innocent > 0.9


def test_no_difference_is_claimed_that_is_not_there() -> None:
    rng = np.random.default_rng(106)
    none = two_ways.scores(batches=150, confounding=STRONG, effect=0.0, runs=80, rng=rng)
    assert none.claimed <= 0.1
    assert none.limits.coverage >= 0.9
    assert none.pooled > 0.4
    some = two_ways.scores(batches=150, confounding=STRONG, effect=0.5, runs=40, rng=rng)
    assert some.claimed > 0.4
    assert some.limits.coverage >= 0.88
    always = two_ways.scores(batches=150, confounding=two_ways.ALWAYS, effect=0.0, runs=15, rng=rng)
    assert always.refused > 0.5
    assert always.claimed == 0.0


def test_days_to_root() -> None:
    rng = np.random.default_rng(107)
    found = times.scores(shape=RootingShape.LOG_NORMAL, runs=8, rng=rng)
    several = [found[name] for name in ("1", "2 to 3", "4 to 9", "10 on")]
    half, plain = (
        all_of([getattr(one, name) for one in several]) for name in ("half", "days_seen")
    )
    assert 0.88 <= half.coverage <= 0.99
    assert half.rmse < 0.8 * plain.rmse
    assert plain.coverage < 0.75
    assert all_of([one.nine_tenths for one in several]).coverage >= 0.82


def test_fewer_counts_and_less_waiting_than_every_fourteen_days() -> None:
    rng = np.random.default_rng(108)
    *_, fortnight, ours = next_looks.POLICIES
    found = next_looks.courses(runs=5, rng=rng, policies=(fortnight, ours))
    by_forecast, by_calendar = found[ours.says], found[fortnight.says]
    assert by_forecast.counts_per_batch < by_calendar.counts_per_batch
    assert by_forecast.waiting_days < by_calendar.waiting_days
    assert by_forecast.waiting_days < 6.5
    assert by_forecast.missed_share < 0.05
    assert by_forecast.false_late <= 0.04


def test_the_command_lists_its_claims(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([]) == 0
    printed = capsys.readouterr().out
    assert all(name in printed for name in CLAIMS)


def test_the_command_prints_a_table(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["standing-out", "--runs", "1", "--seed", "3"]) == 0
    printed = capsys.readouterr().out
    assert "1 runs per line, seed 3" in printed
    assert "| 15 people, 400 batches | one 20 points worse |" in printed


def test_plans_for_nine_in_ten_are_met_and_naive_sums_in_half() -> None:
    rng = np.random.default_rng(41)
    made = [
        plans.tried(history=history, wanted=500, batches=3, when="early", nurseries=60, rng=rng)
        for history in (3, 10)
    ]
    number = sum(each.made for each in made)
    success = sum(each.met for each in made) / number
    naive = sum(each.naive_met for each in made) / number
    # About a hundred nurseries: an error of under two points.
    assert 0.85 <= success <= 0.95
    assert 0.35 <= naive <= 0.62
    assert sum(each.refused for each in made) < 30


def test_plans_hold_after_the_log_was_learned_from() -> None:
    found = plans.learned(batches=120, when="early", nurseries=6, rng=np.random.default_rng(43))
    # Sixty orders: an error of three to four points.
    assert 0.8 <= found.success <= 0.98
    assert found.naive_success <= 0.68
