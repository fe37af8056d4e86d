"""Counts of several clusters added up, held against a simulation with numpy."""

import numpy as np
import pytest

from app.stats.summed_counts import CountInStates, chance_of_sum, summed


def test_the_chance_of_a_sum_is_that_of_a_simulation() -> None:
    rng = np.random.default_rng(20261125)
    runs = 200_000
    sizes, shares = (60, 80), np.array([0.5, 0.7])
    state = rng.integers(0, 2, size=runs)
    k = 12.0
    total = sum(
        rng.binomial(size, rng.beta(k * shares[state], k * (1.0 - shares[state]))) for size in sizes
    )
    counts = []
    for size in sizes:
        values = np.arange(size + 1.0)
        drawn = rng.binomial(
            size, rng.beta(k * shares[:, None], k * (1 - shares[:, None]), size=(2, 100_000))
        )
        masses = np.stack([np.bincount(row, minlength=size + 1) / 100_000 for row in drawn])
        counts.append(CountInStates.of(masses, values=values, within=np.zeros(size + 1), most=size))
    whole = summed(counts, states=2)
    halves = np.array([0.5, 0.5])
    for wanted in (60, 84, 100, 110):
        found = chance_of_sum(whole, masses=halves, wanted=wanted)
        assert found == pytest.approx(np.mean(total >= wanted), abs=0.01)


def test_the_ends() -> None:
    nothing = summed([], states=3)
    third = np.full(3, 1 / 3)
    assert chance_of_sum(nothing, masses=third, wanted=0) == 1.0
    assert chance_of_sum(nothing, masses=third, wanted=1) == 0.0
    known = CountInStates.of(
        np.ones((3, 1)), values=np.array([40.0]), within=np.zeros(1), most=40.0
    )
    assert chance_of_sum(known, masses=third, wanted=40) == pytest.approx(1.0, abs=1e-6)
    assert chance_of_sum(known, masses=third, wanted=41) == 0.0
