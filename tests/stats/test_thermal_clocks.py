"""Degree-days by hand, and two clocks on clusters whose true clock is known."""

from dataclasses import replace

import numpy as np
import pytest

from app.stats.thermal_clocks import BASE_C, ClockErrors, TimedCluster, compare_clocks


def cluster(temperatures: list[float]) -> TimedCluster:
    return TimedCluster(
        starts=np.array([0.0]),
        ends=np.array([10.0]),
        onsets=np.array([5.0]),
        temperatures=np.array(temperatures),
    )


def test_degree_days_by_hand() -> None:
    # 10, 0, 15 and 5 above a base of 5: nothing is taken off for a cold day
    found = cluster([15.0, 3.0, 20.0, 10.0])
    assert found.warmth_by(np.array([0.0, 1.0, 2.0, 3.0, 3.5, 4.0])).tolist() == [
        0.0,
        10.0,
        10.0,
        25.0,
        27.5,
        30.0,
    ]
    # on beyond the record at 7.5 a day
    assert found.warmth_by(np.array([6.0])).tolist() == [45.0]
    assert found.day_of(45.0) == 6.0
    assert found.day_of(27.5) == 3.5
    assert cluster([2.0, 4.0]).day_of(1.0) == float("inf")


def simulated(
    *, between_sd: float, logger_sd: float, seed: int, clusters: int = 12, thermal: bool = True
) -> list[TimedCluster]:
    """Clusters of 60, looked at every five days, with temperatures that differ between them.

    The truth is degree-days above 5, of which half the onsets need 28 days' worth at 18 degrees;
    or plain days, with `thermal` false.
    """
    rng = np.random.default_rng(seed)
    made: list[TimedCluster] = []
    while len(made) < clusters:
        mean = np.clip(18.0 + rng.normal(0.0, between_sd), 11.0, 26.0)
        days = np.arange(150)
        true_c = np.maximum(mean + 2.0 * np.sin(days / 9.0) + rng.normal(0.0, 1.0, 150), 6.0)
        speed = np.exp(rng.normal(0.0, 0.15))
        onset_days = 28.0 * speed * np.exp(rng.normal(0.0, 0.35, 60))
        if thermal:
            sums = np.append(0.0, np.cumsum(np.maximum(true_c - BASE_C, 0.0)))
            onset_days = np.interp(onset_days * 13.0, sums, np.arange(len(sums)))
        looks = np.arange(0.0, 120.0, 5.0)
        seen, _ = np.histogram(onset_days, bins=looks)
        if not seen.any():
            continue
        made.append(
            TimedCluster(
                starts=looks[:-1],
                ends=looks[1:],
                onsets=seen.astype(float),
                temperatures=true_c[:115] + rng.normal(0.0, logger_sd),
            )
        )
    return made


def errors(**how: float | bool) -> tuple[float, float]:
    """Root mean square errors by calendar and by warmth over forty nurseries."""
    found: list[ClockErrors] = [
        compare_clocks(simulated(seed=seed, **how), scale=0.2)  # type: ignore[arg-type]
        for seed in range(40)
    ]
    squares = [[each.calendar_days**2, each.thermal_days**2] for each in found]
    return tuple(np.sqrt(np.mean(squares, axis=0)))


def test_warmth_wins_where_batches_stand_at_different_temperatures() -> None:
    """As simulated in the study behind the method (COMPUTED there, its truth like this one):

    temperature sd between batches 4: 10.7 days by calendar, 3.8 by warmth, 6.2 with a logger
    that is off by 1.5 degrees.
    """
    calendar, thermal = errors(between_sd=4.0, logger_sd=0.0)
    assert calendar > 2.0 * thermal
    assert thermal < 6.5
    _, misread = errors(between_sd=4.0, logger_sd=1.5)
    assert thermal < misread < calendar


def test_days_win_where_days_are_the_truth() -> None:
    calendar, thermal = errors(between_sd=4.0, logger_sd=0.0, thermal=False)
    assert calendar < 0.7 * thermal


def test_at_one_temperature_both_clocks_say_the_same() -> None:
    same = [
        TimedCluster(
            starts=np.array([0.0, 20.0]),
            ends=np.array([20.0, 30.0]),
            onsets=np.array([8.0, 4.0 + extra]),
            temperatures=np.full(30, 15.0),
        )
        for extra in (0.0, 3.0, 6.0)
    ]
    found = compare_clocks(same, scale=0.2)
    assert found.thermal_days == pytest.approx(found.calendar_days, rel=0.05)
    # ten degree-days a day: half of them after about 19 days
    assert np.exp(found.log_warmths) == pytest.approx(190.0, rel=0.12)


def test_what_cannot_be_compared_is_refused() -> None:
    with pytest.raises(ValueError, match="alone"):
        compare_clocks([cluster([15.0] * 10)], scale=0.2)
    nothing = replace(cluster([15.0] * 10), onsets=np.zeros(1))
    with pytest.raises(ValueError, match="nothing set in"):
        compare_clocks([cluster([15.0] * 10), nothing], scale=0.2)
    with pytest.raises(ValueError, match="never warm"):
        compare_clocks([cluster([15.0] * 10), cluster([2.0] * 10)], scale=0.2)
