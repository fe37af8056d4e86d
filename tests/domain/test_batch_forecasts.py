"""How an open batch is expected to end, from a simulated nursery and worked out again by hand."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from app.domain.batch_forecasts import BatchForecast, batch_forecast, forecast_sentences
from app.domain.fit_records import BatchToForecast, FitRecords
from app.domain.nursery_fits import GRID, NurseryFit, fit_nursery
from app.domain.outcomes import CheckCounts, Loss, tally
from app.domain.outlooks import known_of_batch
from app.stats.share_grids import Floats
from tests.simulated_nursery.batches import EARLY_ROT, Group, Habits
from tests.simulated_nursery.nurseries import SimulatedBatches, simulate

STUCK_ON = date(2026, 9, 1)
MEDIAN = 28.0


def simulated(seed: int = 3, *, ago: Sequence[float] = (200.0,) * 40) -> SimulatedBatches:
    groups = [Group(rate=0.7, median_days=MEDIAN, habit=EARLY_ROT)]
    return simulate(
        groups,
        group_of=np.zeros(len(ago), dtype=np.int64),
        stuck_ago=np.array(ago),
        rng=np.random.default_rng(seed),
        habits=Habits(median_size=60.0),
    )


def records(batches: SimulatedBatches) -> FitRecords:
    ones = np.ones(batches.histories.count, dtype=np.int64)
    return FitRecords(
        batch_ids=np.arange(1, batches.histories.count + 1),
        genus=ones,
        cutting_type=ones,
        method=ones,
        month=5 * ones,
        histories=batches.histories,
    )


@pytest.fixture(scope="module")
def fit() -> NurseryFit:
    return fit_nursery(records(simulated()))


def forecast(fit: NurseryFit, *checks: CheckCounts, stuck: int = 100) -> BatchForecast | None:
    standing = tally(checks, stuck=stuck, stuck_on=STUCK_ON)
    return batch_forecast(fit, batch=batch(stuck=stuck), checks=checks, standing=standing)


def batch(*, stuck: int = 100, genus: int = 1) -> BatchToForecast:
    return BatchToForecast(
        batch_id=999, genus=genus, cutting_type=1, stuck_on=STUCK_ON, stuck=stuck
    )


def count(day: int, rooted: int, lost: int = 0) -> CheckCounts:
    losses = (Loss(cause="basal rot", number=lost),) if lost else ()
    return CheckCounts(checked_on=STUCK_ON + timedelta(days=day), rooted=rooted, lost=losses)


def test_a_batch_never_counted_is_expected_to_do_as_the_others(fit: NurseryFit) -> None:
    found = forecast(fit)
    assert found is not None
    others = simulated()
    usual = float(np.mean(others.will_root / others.histories.size))
    # leaning a little towards one half, as a genus of forty batches does
    assert usual - 0.06 < found.share < usual + 0.02
    assert found.low_share < 0.5
    assert found.high_share > 0.85
    assert (found.worst_share, found.best_share) == (0.0, 1.0)
    assert (found.of_genus, found.of_nursery) == (fit.finished_by_genus[1], fit.finished)


def test_it_never_leaves_what_is_possible_and_narrows_as_it_is_counted(fit: NurseryFit) -> None:
    checks = [count(20, 10, 5), count(30, 35), count(40, 25, 5)]
    found = [forecast(fit, *checks[:number]) for number in range(4)]
    widths = []
    for each in found:
        assert each is not None
        assert each.worst_share <= each.low_share <= each.share <= each.high_share
        assert each.high_share <= each.best_share
        widths.append(each.high_share - each.low_share)
    assert widths == sorted(widths, reverse=True)
    assert (found[3].worst_share, found[3].best_share) == (0.7, 0.9)


def test_the_expected_strike_agrees_with_the_number_still_to_come(fit: NurseryFit) -> None:
    found = forecast(fit, count(21, 20, 6))
    assert found is not None
    assert found.share == pytest.approx((20 + found.ever) / 100, abs=0.004)


def test_it_rests_on_the_likelihood_that_the_rates_use(fit: NurseryFit) -> None:
    """The share behind an open batch, worked out afresh from its counts, is the fit's own.

    The fit spreads the failing habit over 30 nodes and integrates the days; here it is put
    together from the batch's checks, as the page does, with few nodes.
    """
    with_open = simulated(5, ago=(*(200.0,) * 40, 25.0))
    learned = fit_nursery(records(with_open))
    (place,) = np.flatnonzero(learned.open_batches.batch_ids == 41)
    by_fit = _masses(
        learned.open_batches.share_logs[place]
        + np.log(np.maximum(learned.open_batches.share_priors[place], 1e-300))
    )
    histories = with_open.histories
    mine = histories.cluster == 40
    looks = [
        count(int(end), int(rooted), int(lost))
        for end, rooted, lost in zip(
            histories.end[mine], histories.onsets[mine], histories.failures[mine], strict=True
        )
    ]
    stuck = int(histories.size[40])
    known = known_of_batch(
        learned,
        batch=replace(batch(stuck=stuck), batch_id=41),
        checks=looks,
        standing=tally(looks, stuck=stuck, stuck_on=STUCK_ON),
    )
    stays = _stays(known.shares, known.onset_masses, known.still, known.still_masses, known)
    afresh = _masses(np.log(known.share_masses) + np.log(stays))
    means = [float(masses @ GRID.middles) for masses in (by_fit, afresh)]
    assert means[0] == pytest.approx(means[1], abs=0.005)


def _stays(shares: Floats, onsets: Floats, still: Floats, masses: Floats, known: object) -> Floats:
    """The likelihood that all waiting ones still wait, by a plain sum over speeds and habits."""
    age, waiting = known.age, known.waiting  # type: ignore[attr-defined]
    total = np.zeros(len(shares))
    for log_median, mass in zip(known.log_medians, onsets, strict=True):  # type: ignore[attr-defined]
        not_yet = 1.0 / (1.0 + (age / np.exp(log_median)) ** (1.0 / known.scale))  # type: ignore[attr-defined]
        for left, weight in zip(still, masses, strict=True):
            total += mass * weight * (shares * not_yet + (1.0 - shares) * left) ** waiting
    return total


def _masses(logs: Floats) -> Floats:
    masses = np.exp(logs - logs.max())
    return masses / masses.sum()


def test_what_is_ahead_goes_from_the_last_count_to_most_of_them(fit: NurseryFit) -> None:
    found = forecast(fit, count(21, 20, 6))
    assert found is not None
    first, last = found.ahead[0], found.ahead[-1]
    assert (first.day, first.number) == (STUCK_ON + timedelta(days=21), 20.0)
    assert 20 + 0.9 * found.ever <= last.number <= 20 + found.ever
    assert 10 <= (last.day - first.day).days <= 60
    assert not found.finish


def test_ninety_days_on_it_is_time_to_finish(fit: NurseryFit) -> None:
    found = forecast(fit, count(40, 60, 20), count(90, 3))
    assert found is not None
    assert found.finish
    assert found.share == pytest.approx(0.63, abs=0.005)
    assert forecast_sentences(found, genus="Hebe")[-1] == "Few more expected: time to finish?"


def test_nothing_is_said_of_a_finished_batch_or_by_too_few_others(fit: NurseryFit) -> None:
    assert forecast(fit, count(40, 80, 20)) is None
    few = fit_nursery(records(simulated(ago=(200.0,) * 11)))
    assert forecast(few, count(21, 20, 6)) is None


def test_it_is_said_in_words(fit: NurseryFit) -> None:
    found = BatchForecast(
        share=0.663,
        low_share=0.57,
        high_share=0.74,
        worst_share=0.4,
        best_share=0.89,
        of_genus=9,
        of_nursery=214,
        ahead=(),
    )
    assert forecast_sentences(found, genus="Cistus") == (
        "Expected strike 66 % (57 to 74 %); at worst 40 %, at best 89 %.",
        "Leans on 9 earlier batches of Cistus.",
    )
    other = forecast_sentences(replace(found, of_genus=0), genus="Cistus")
    assert other[1] == (
        "Leans on 214 earlier batches of the whole nursery: none of Cistus is finished yet."
    )
    growing = forecast(fit, count(21, 20, 6))
    assert growing is not None
    said = forecast_sentences(growing, genus="Hebe")
    assert said[-1] == f"About {round(growing.ever)} more are expected to root."


def test_a_genus_nobody_finished_leans_on_all_and_has_no_days(fit: NurseryFit) -> None:
    standing = tally((), stuck=100, stuck_on=STUCK_ON)
    found = batch_forecast(fit, batch=batch(genus=7), checks=(), standing=standing)
    assert found is not None
    assert (found.of_genus, found.ahead, found.finish) == (0, (), False)
