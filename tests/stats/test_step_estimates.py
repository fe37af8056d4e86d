"""The step estimate against a printed table, a reference library and cases done by hand."""

import csv
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from lifelines.fitters.npmle import npmle

from app.stats.histories import Histories
from app.stats.step_estimates import StepEstimate, settled_steps, step_estimate
from tests.simulated_nursery import Group, simulate

COSMESIS = Path(__file__).parent.parent / "data" / "breast_cosmesis_interval_censored.csv"

# M. P. Fay and P. A. Shaw (2010) J. Statistical Software 36(2), p. 11-12, on the data of
# Finkelstein and Wolfe (1985) Biometrics 41:731-740: masses of the intervals (start, end],
# printed to four decimals. CONFIRMED; the log-likelihoods are COMPUTED.
PRINTED = {
    "Rad": (
        [
            (4, 5, 0.0463),
            (6, 7, 0.0334),
            (7, 8, 0.0887),
            (11, 12, 0.0708),
            (24, 25, 0.0926),
            (33, 34, 0.0818),
            (38, 40, 0.1209),
            (46, 48, 0.4656),
        ],
        -58.060022,
    ),
    "RadChem": (
        [
            (4, 5, 0.0433),
            (5, 8, 0.0433),
            (11, 12, 0.0692),
            (16, 17, 0.1454),
            (18, 19, 0.1411),
            (19, 20, 0.1157),
            (24, 25, 0.0999),
            (30, 31, 0.0709),
            (35, 36, 0.1608),
            (44, 48, 0.0552),
            (48, 60, 0.0552),
        ],
        -65.636965,
    ),
}


def cosmesis(treatment: str) -> tuple[np.ndarray, np.ndarray]:
    lines = COSMESIS.read_text(encoding="utf-8").splitlines()
    rows = csv.DictReader(line for line in lines if not line.startswith("#"))
    mine = [row for row in rows if row["treatment"] == treatment]
    starts = [float(row["left"]) for row in mine]
    ends = [float(row["right"] or "inf") for row in mine]
    return np.array(starts), np.array(ends)


def estimate(rows: list[tuple[float, float]]) -> StepEstimate:
    starts, ends = np.array(rows, dtype=float).T
    return step_estimate(starts, ends=ends, counts=np.ones(len(rows)))


def listed(found: StepEstimate) -> list[tuple[float, float, float]]:
    return list(zip(found.starts, found.ends, found.masses.round(6), strict=True))


@pytest.mark.parametrize("treatment", PRINTED)
def test_it_gives_the_printed_masses(treatment: str) -> None:
    starts, ends = cosmesis(treatment)
    expected, log_likelihood = PRINTED[treatment]
    found = step_estimate(starts, ends=ends, counts=np.ones(len(starts)))
    # The last printed interval of the first group ends where nobody was seen any more.
    assert found.starts.tolist() == [row[0] for row in expected]
    assert found.ends[:-1].tolist() == [row[1] for row in expected[:-1]]
    assert found.masses == pytest.approx([row[2] for row in expected], abs=1e-4)
    assert found.log_likelihood == pytest.approx(log_likelihood, abs=1e-5)


def test_the_two_groups_together() -> None:
    # COMPUTED log-likelihood of all 94 records as one group
    pairs = [cosmesis(treatment) for treatment in PRINTED]
    starts, ends = (np.concatenate(sides) for sides in zip(*pairs, strict=True))
    found = step_estimate(starts, ends=ends, counts=np.ones(94))
    assert found.log_likelihood == pytest.approx(-136.963804, abs=1e-5)


@pytest.mark.parametrize("treatment", PRINTED)
def test_agrees_with_the_reference_library(treatment: str) -> None:
    # lifelines 0.30 reads intervals as closed: left ends moved up a little make them half open
    starts, ends = cosmesis(treatment)
    found = step_estimate(starts, ends=ends, counts=np.ones(len(starts)))
    theirs, intervals = npmle(starts + 1e-6, ends, tol=1e-13)
    kept = theirs > 1e-7
    assert found.masses == pytest.approx(theirs[kept], abs=1e-4)
    lefts = [interval.left for interval, one in zip(intervals, kept, strict=True) if one]
    assert found.starts == pytest.approx(np.array(lefts) - 1e-6, abs=1e-9)


def test_agrees_with_the_reference_library_on_simulated_counts() -> None:
    batches = simulate(
        [Group(rate=0.7)],
        group_of=np.zeros(15, dtype=int),
        stuck_ago=np.full(15, 200),
        rng=np.random.default_rng(12),
    )
    looks = batches.histories
    found = settled_steps(looks)
    seen = looks.onsets > 0
    starts, ends, counts = looks.start[seen], looks.end[seen], looks.onsets[seen]
    theirs, intervals = npmle(starts + 1e-6, ends, weights=counts, tol=1e-9)
    alpha = (starts[:, None] <= np.array([i.left for i in intervals])[None, :]) & (
        ends[:, None] >= np.array([i.right for i in intervals])[None, :]
    )
    # Only the greatest likelihood is unique where intervals overlap: ours is not below theirs.
    reached = float((counts * np.log(alpha @ theirs)).sum())
    assert found.log_likelihood == pytest.approx(reached, abs=0.05)
    assert found.log_likelihood >= reached - 1e-6
    grid = np.arange(5.0, 80.0, 5.0)
    low, high = found.set_in_by(grid)
    cumulated = np.array([theirs[[i.right <= day for i in intervals]].sum() for day in grid])
    assert (low - 5e-3 <= cumulated).all()
    assert (cumulated <= high + 5e-3).all()


def test_intervals_apart_keep_their_counts() -> None:
    assert listed(estimate([(0, 1), (2, 3)])) == [(0.0, 1.0, 0.5), (2.0, 3.0, 0.5)]


def test_overlapping_ones_share_what_they_have_in_common() -> None:
    assert listed(estimate([(0, 2), (1, 3)])) == [(1.0, 2.0, 1.0)]


def test_one_that_ends_where_the_next_begins_does_not_touch_it() -> None:
    assert listed(estimate([(0, 2), (2, 3)])) == [(0.0, 2.0, 0.5), (2.0, 3.0, 0.5)]


def test_nothing_seen_has_no_mass_before_infinity() -> None:
    found = estimate([(5, np.inf), (8, np.inf)])
    assert listed(found) == [(8.0, np.inf, 1.0)]
    low, high = found.set_in_by(np.array([100.0]))
    assert (low[0], high[0]) == (0.0, 0.0)


def test_no_record_at_all() -> None:
    nothing = np.zeros(0)
    found = step_estimate(nothing, ends=nothing, counts=nothing)
    assert len(found.masses) == 0
    assert found.set_in_by(np.array([10.0]))[0] == pytest.approx([0.0])


def test_inside_an_interval_it_says_how_little_is_known() -> None:
    found = estimate([(0, 10), (0, 10), (10, 20), (10, 20)])
    low, high = found.set_in_by(np.array([0.0, 5.0, 10.0, 15.0, 20.0]))
    assert low == pytest.approx([0.0, 0.0, 0.5, 0.5, 1.0])
    assert high == pytest.approx([0.0, 0.5, 0.5, 1.0, 1.0])


days = st.integers(0, 8)


@given(rows=st.lists(st.tuples(days, st.integers(1, 8), st.integers(1, 5)), min_size=1))
def test_nothing_can_be_gained_by_moving_mass(rows: list[tuple[int, int, int]]) -> None:
    # the conditions of Karush, Kuhn and Tucker, which prove the greatest likelihood
    starts = np.array([row[0] for row in rows], dtype=float)
    ends = starts + np.array([row[1] for row in rows])
    counts = np.array([row[2] for row in rows], dtype=float)
    found = step_estimate(starts, ends=ends, counts=counts)
    assert found.masses.sum() == pytest.approx(1.0, abs=1e-7)
    within = (starts[:, None] <= found.starts) & (ends[:, None] >= found.ends)
    reached = within @ found.masses
    everywhere = (starts[:, None] <= np.arange(16.0)) & (ends[:, None] >= np.arange(1.0, 17.0))
    assert (counts / reached @ everywhere).max() <= counts.sum() * (1.0 + 1e-6)


def test_only_settled_clusters_speak() -> None:
    looks = Histories(
        cluster=np.array([0, 1]),
        start=np.array([0.0, 0.0]),
        end=np.array([20.0, 10.0]),
        onsets=np.array([5.0, 1.0]),
        failures=np.array([0.0, 0.0]),
        size=np.array([5.0, 9.0]),
        waiting=np.array([0.0, 8.0]),
        waiting_age=np.array([20.0, 10.0]),
        written_off=np.zeros(2),
        written_off_age=np.zeros(2),
    )
    assert listed(settled_steps(looks)) == [(0.0, 20.0, 1.0)]
