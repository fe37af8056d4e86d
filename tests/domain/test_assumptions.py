"""What is assumed, with its standing, and what a nursery that has learned puts in its place."""

import numpy as np
import pytest

from app.domain.assumptions import NO_SOURCE, SET_RULE, Assumption, list_assumptions
from app.domain.fit_records import FitRecords
from app.domain.nursery_fits import NurseryFit, fit_nursery
from app.domain.standings import COMMON_PRACTICE
from tests.simulated_nursery.batches import EARLY_ROT, Group, Habits
from tests.simulated_nursery.nurseries import simulate


def lines(fit: NurseryFit | None) -> dict[str, Assumption]:
    return {line.what: line for group in list_assumptions(fit) for line in group.lines}


def test_every_starting_value_is_named_and_said_to_have_no_source() -> None:
    """The values of the method's own list; none of them was found in print."""
    found = lines(None)
    for what, start in (
        ("Two cuttings of one batch go together (correlation)", "0.12"),
        ("Genera differ from the whole nursery", "concentration 5"),
        ("Methods (type and hormone) differ within a genus", "concentration 15"),
        ("Months or seasons differ within a method (now seasons)", "concentration 30"),
        ("Half of those that root have, whole nursery", "about 32 days"),
        ("Spread of rooting days within a batch", "0.20"),
        ("Batches of one genus and type are faster or slower", "0.15"),
        ("Of cuttings that never root, so many fail by themselves; the rest linger", "50 %"),
        ("Half of those that fail have, whole nursery", "about 25 days"),
        ("A count is due once rooted ones have stood", "40 days between them"),
        ("A count is late once of what will still root", "65 %"),
        ("A count is due at the latest", "28 days"),
        ("Anything is learned from", "12 finished batches"),
        ("Of the rooted ones so many are ready in the end", "95 %"),
        ("They are ready after rooting in", "21 days"),
        ("What was published elsewhere counts as", "one batch of 10 cuttings"),
        ("There is no plan beyond", "10 cuttings"),
        ("Open batches are old enough for rooted of stuck from", "63 days"),
    ):
        assert start in found[what].start, what
        assert found[what].now == found[what].start
    assert {line.standing for line in found.values()} == {
        NO_SOURCE,
        SET_RULE,
        COMMON_PRACTICE,
    }
    assert "no source" in NO_SOURCE
    assert "no source" in SET_RULE


def test_what_the_values_mean_is_worked_out() -> None:
    found = lines(None)
    # 300 / (1 + 299 x 0.12) = 8.1; sqrt(0.25 / 6) = 0.204; 9^0.2 = 1.55
    assert "tells as much as 8 separate cuttings" in (
        found["Two cuttings of one batch go together (correlation)"].start
    )
    assert "about 20 points" in found["Genera differ from the whole nursery"].start
    assert "9 in 10 by 1.6 times" in found["Spread of rooting days within a batch"].start
    assert "about 15 %" in found["Batches of one genus and type are faster or slower"].start


@pytest.fixture(scope="module")
def fit() -> NurseryFit:
    """Sixty finished batches of three genera, half of their cuttings rooted by day 18 or so."""
    groups = [Group(rate=rate, median_days=18.0, habit=EARLY_ROT) for rate in (0.3, 0.6, 0.9)]
    group_of = np.repeat(np.arange(3), 20)
    grown = simulate(
        groups,
        group_of=group_of,
        stuck_ago=np.full(60, 200.0),
        rng=np.random.default_rng(2),
        habits=Habits(correlation=0.25, log_sd=0.2),
    )
    ones = np.ones(60, dtype=np.int64)
    return fit_nursery(
        FitRecords(
            batch_ids=np.arange(60),
            genus=group_of + 1,
            cutting_type=ones,
            method=ones,
            month=5 * ones,
            histories=grown.histories,
        )
    )


def test_learned_values_stand_beside_with_the_batches_behind(fit: NurseryFit) -> None:
    found = lines(fit)
    correlation = found["Two cuttings of one batch go together (correlation)"]
    assert correlation.start.startswith("0.12")
    assert correlation.now.startswith(f"{fit.correlation:.2f}")
    assert 0.15 < fit.correlation < 0.35
    assert correlation.standing == "learned from 60 finished batches"
    middle = found["Half of those that root have, whole nursery"]
    assert middle.now.startswith(("about 18 days", "about 19 days", "about 17 days"))
    assert "learned from" in middle.standing
    # early rot is the habit of all three: nine in ten of the losers, half of them by day 12
    failing = found["Of cuttings that never root, so many fail by themselves; the rest linger"]
    assert float(failing.now.split()[0]) == pytest.approx(90, abs=6)
    assert "learned from" in failing.standing
    gone = found["Half of those that fail have, whole nursery"]
    assert 10 <= int(gone.now.split()[1]) <= 14
    spread = found["Spread of rooting days within a batch"]
    assert float(spread.now.split(":")[0]) < 0.15
    rule = found["A count is due at the latest"]
    assert (rule.now, rule.standing) == (rule.start, SET_RULE)
