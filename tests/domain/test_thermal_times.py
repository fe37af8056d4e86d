"""Readings made into daily temperatures, and which clock a group gets."""

import numpy as np
import pytest

from app.domain.thermal_times import (
    FEWEST_LOGGED,
    ClockChoice,
    Reading,
    choose_clock,
    clock_sentences,
    daily_temperatures,
)
from app.stats.histories import Histories


def read(*pairs: tuple[int, float]) -> list[Reading]:
    return [Reading(age_days=age, medium_c=warm) for age, warm in pairs]


def test_a_reading_holds_four_days_on() -> None:
    daily, logged = daily_temperatures(read((0, 18.0), (7, 20.0)), days=14)
    # days 0 to 4 and 7 to 11 are known, the rest stand at their mean
    assert daily.tolist() == [18.0] * 5 + [19.0] * 2 + [20.0] * 5 + [19.0] * 2
    assert logged == pytest.approx(10 / 14)


def test_the_later_of_two_readings_holds_from_its_day() -> None:
    daily, logged = daily_temperatures(read((3, 20.0), (0, 16.0)), days=6)
    assert daily.tolist() == [16.0, 16.0, 16.0, 20.0, 20.0, 20.0]
    assert logged == 1.0


def test_without_a_reading_nothing_is_known() -> None:
    daily, logged = daily_temperatures((), days=5)
    assert np.isnan(daily).all()
    assert logged == 0.0
    assert daily_temperatures((), days=0)[1] == 0.0


def grown(warmths: list[float], *, by_warmth: bool) -> tuple[Histories, list[list[Reading]]]:
    """One batch for each temperature, read every third day; half rooted on its middle day.

    By warmth that comes after 300 degree-days above 5, else on day 28; a little earlier or later
    from batch to batch.
    """
    cluster, starts, ends, onsets, readings = [], [], [], [], []
    for place, warm in enumerate(warmths):
        middle = (300.0 / (warm - 5.0) if by_warmth else 28.0) * (1.03 if place % 2 else 0.97)
        edges = np.round(middle * np.array([0.0, 0.7, 0.9, 1.1, 1.4, 2.0]))
        cluster += [place] * 5
        starts += edges[:-1].tolist()
        ends += edges[1:].tolist()
        onsets += [4.0, 9.0, 14.0, 9.0, 4.0]
        readings.append(read(*((day, warm) for day in range(0, int(edges[-1]), 3))))
    number = len(warmths)
    histories = Histories(
        cluster=np.array(cluster),
        start=np.array(starts),
        end=np.array(ends),
        onsets=np.array(onsets),
        failures=np.zeros(5 * number),
        size=np.full(number, 40.0),
        waiting=np.zeros(number),
        waiting_age=np.zeros(number),
        written_off=np.zeros(number),
        written_off_age=np.zeros(number),
    )
    return histories, readings


WARMTHS = [12.0, 15.0, 18.0, 21.0, 14.0, 17.0, 20.0, 16.0]


def test_warmth_is_chosen_where_it_foretells_better() -> None:
    histories, readings = grown(WARMTHS, by_warmth=True)
    choice = choose_clock(histories, readings=readings, scale=0.2)
    assert (choice.logged, choice.finished) == (8, 8)
    assert choice.calendar_error_days is not None
    assert choice.warmth_error_days is not None
    assert choice.warmth_error_days < 0.5 * choice.calendar_error_days
    assert choice.warmth is not None
    half = choice.warmth.half
    assert half.day == pytest.approx(300.0, rel=0.05)
    assert half.low < 300.0 < half.high
    assert choice.warmth.tenth.day < half.day < choice.warmth.nine_tenths.day
    assert choice.warmth.days_at(17.0) == pytest.approx(half.day / 12.0)
    assert choice.warmth.usual_c == pytest.approx(np.mean(WARMTHS))
    said = " ".join(clock_sentences(choice))
    assert said.startswith("Time is counted in degree-days of the medium above 5 °C.")
    assert f"degree-days by about {choice.warmth_error_days:.1f}." in said
    assert "When checks are due goes by days all the same" in said


def test_days_stay_where_they_foretell_better() -> None:
    histories, readings = grown(WARMTHS, by_warmth=False)
    choice = choose_clock(histories, readings=readings, scale=0.2)
    assert choice.warmth is None
    assert choice.calendar_error_days is not None
    assert choice.warmth_error_days is not None
    assert choice.calendar_error_days < choice.warmth_error_days
    assert clock_sentences(choice)[0] == "Time is counted in days."
    assert "from the 7 others, days are off by about" in clock_sentences(choice)[1]


def test_too_few_readings_leave_days() -> None:
    histories, readings = grown(WARMTHS, by_warmth=True)
    # a week apart is not often enough: five days known of seven
    weekly = [each[::3] for each in readings[:3]] + readings[3:]
    choice = choose_clock(histories, readings=weekly, scale=0.2)
    assert (choice.logged, choice.finished, choice.calendar_error_days) == (5, 8, None)
    assert choice.logged < FEWEST_LOGGED
    assert "For 5 of 8 finished batches" in clock_sentences(choice)[1]


def test_open_batches_and_those_without_roots_are_not_asked() -> None:
    histories, readings = grown(WARMTHS, by_warmth=True)
    histories.waiting[0] = 3.0
    histories.onsets[histories.cluster == 1] = 0.0
    choice = choose_clock(histories, readings=readings, scale=0.2)
    assert (choice.logged, choice.finished) == (6, 6)


def test_no_batch_at_all_is_said_plainly() -> None:
    histories, _ = grown([15.0], by_warmth=True)
    choice = choose_clock(histories, readings=[[]], scale=0.2)
    assert choice == ClockChoice(finished=1, logged=0)
