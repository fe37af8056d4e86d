"""Who or what stands out: innocent people, bad ones, plants of their own, and the words."""

import numpy as np
import pytest
from numpy.random import Generator
from scipy.special import expit

from app.domain.comparisons_batches import LoggedBatches, known_outcomes
from app.domain.standouts import LabelledBatches, Standouts, standouts
from app.domain.standouts_calls import Call, call_of
from app.domain.standouts_questions import StandoutBy
from app.domain.standouts_words import (
    call_sentences,
    difference_words,
    headline,
    own_headline,
    quiet_sentences,
    workings,
)
from tests.domain.compared_batches import logged
from tests.simulated_nursery import (
    RANDOMISED,
    Confounding,
    Habits,
    batch_rates,
    batch_sizes,
    deal_out,
)

CORRELATION = 0.08
# Nobody is better than the rest, but work goes to people unevenly.
EVEN = Confounding(favourite=0.5, elsewhere=0.5, person_logit=0.0)


def drawn(rng: Generator, *, batches: int, people: int, worse: float = 0.0) -> LoggedBatches:
    """Return batches dealt out unevenly; person 0's strike `worse` lower (a share)."""
    work = deal_out(batches, confounding=EVEN, people=people, rng=rng, unevenly=1.5)
    sizes = batch_sizes(Habits(), count=batches, rng=rng)
    means = np.clip(expit(work.logits) - worse * (work.person == 0), 0.02, 0.98)
    rooted = rng.binomial(sizes, batch_rates(means, correlation=CORRELATION, rng=rng))
    return logged(sizes, rooted, genus=work.genus, month=work.month, person=work.person)


def looked_over(batches: LoggedBatches) -> Standouts:
    found = standouts(
        batches,
        labelled=LabelledBatches(rows=np.arange(batches.count), labels=batches.person),
        outcomes=known_outcomes(batches, fit=None),
        correlation=CORRELATION,
    )
    assert found is not None
    return found


def test_innocent_people_are_left_in_peace() -> None:
    # At most one report in fifty may point at somebody when all are equal.
    pointed = [
        any(line.call is Call.NEEDS_A_LOOK for line in looked_over(batches).lines)
        for batches in (
            drawn(np.random.default_rng(seed), batches=400, people=8) for seed in range(50)
        )
    ]
    assert sum(pointed) <= 1


def test_twenty_points_worse_is_found() -> None:
    found = [
        looked_over(drawn(np.random.default_rng(seed), batches=400, people=8, worse=0.2))
        for seed in range(30)
    ]
    first = [one.lines[0] for one in found]
    assert sum(line.label == 0 and line.call is Call.NEEDS_A_LOOK for line in first) >= 24
    # What the expectation swallowed of the difference is given back.
    told = [line.difference for one in found for line in one.lines if line.label == 0]
    assert -0.24 < float(np.mean(told)) < -0.14


def test_the_harder_work_is_no_fault() -> None:
    # One person has only the hardest genus, others have it too: bare rates are far apart.
    rng = np.random.default_rng(12)
    genus = np.concatenate([np.ones(40), rng.integers(1, 5, 160)]).astype(int)
    person = np.concatenate([np.ones(40), rng.integers(2, 5, 160)]).astype(int)
    rooted = rng.binomial(40, 0.25 + 0.13 * genus)
    found = looked_over(logged(np.full(200, 40), rooted, genus=genus, person=person))
    bare = {line.label: line.observed for line in found.lines}
    assert bare[1] < min(bare[2], bare[3], bare[4]) - 0.1
    assert all(line.call is Call.NOTHING for line in found.lines)


def test_under_three_batches_nobody_is_judged() -> None:
    person = np.array([1] * 2 + [2] * 20 + [3] * 20)
    rooted = np.where(person == 1, 0, 30)
    found = looked_over(logged(np.full(42, 40), rooted, person=person))
    assert {line.label for line in found.lines} == {2, 3}
    assert found.too_few == 1


def test_one_alone_cannot_be_held_against_others() -> None:
    batches = logged([40] * 5, [20] * 5, person=[1] * 5)
    found = standouts(
        batches,
        labelled=LabelledBatches(rows=np.arange(5), labels=batches.person),
        outcomes=known_outcomes(batches, fit=None),
        correlation=0.1,
    )
    assert found is None
    assert headline(found, by=StandoutBy.BENCH, names={}).startswith("There are not two benches")
    assert own_headline(found).startswith("Fewer than three of your batches")


def test_a_label_with_a_plant_of_its_own_is_not_judged() -> None:
    rng = np.random.default_rng(2)
    genus = np.repeat([1, 2, 3], 30)
    found = looked_over(
        logged(np.full(90, 40), rng.binomial(40, 0.2 * genus), genus=genus, person=genus)
    )
    assert found.lines == ()
    assert found.inseparable == 3
    said = headline(found, by=StandoutBy.STOCK_PLANT, names={})
    assert said.startswith("Nothing can be said of these stock plants")


def test_a_batch_of_two_stock_plants_counts_for_both() -> None:
    batches = logged([40] * 6, [30] * 6)
    rows = np.array([0, 0, 1, 2, 2, 3, 4, 5])
    labels = np.array([31, 32, 31, 31, 32, 32, 31, 32])
    found = standouts(
        batches,
        labelled=LabelledBatches(rows=rows, labels=labels),
        outcomes=known_outcomes(batches, fit=None),
        correlation=0.1,
    )
    assert found is not None
    assert {line.label: line.batches for line in found.lines} == {31: 4, 32: 4}


def test_lines_go_by_the_chance_of_being_worse_not_by_rate() -> None:
    found = looked_over(drawn(np.random.default_rng(5), batches=300, people=6, worse=0.1))
    chances = [line.worse for line in found.lines]
    assert chances == sorted(chances, reverse=True)
    rates = [line.observed for line in found.lines]
    assert rates != sorted(rates)


@pytest.mark.parametrize(
    ("chance", "call"),
    [(0.91, "needs a look"), (0.9, "look closer"), (0.81, "look closer"), (0.8, "")],
)
def test_calls_follow_the_chance(chance: float, call: str) -> None:
    assert call_of(chance).value == call


def test_what_is_said_names_the_batches_behind_it() -> None:
    found = looked_over(drawn(np.random.default_rng(1), batches=400, people=4, worse=0.25))
    names = {0: "Bench 7", 1: "Bench 1", 2: "Bench 2", 3: "Bench 3"}
    assert headline(found, by=StandoutBy.BENCH, names=names) == "Bench 7 needs a look."
    (sentence,) = call_sentences(found, names=names)
    line = found.lines[0]
    assert sentence.startswith(f"Bench 7: needs a look, {line.batches} batches behind it.")
    assert "was to be expected of this work" in sentence
    assert difference_words(line).startswith("−")
    assert own_headline(found.only(0)).startswith("Your batches: needs a look, ")
    assert own_headline(found.only(1)).startswith("Your batches struck as was to be expected")
    assert "× 0.08" in " ".join(workings(found, correlation=CORRELATION))


def test_nothing_standing_out_is_said() -> None:
    found = looked_over(drawn(np.random.default_rng(3), batches=200, people=4))
    assert headline(found, by=StandoutBy.MIX, names={}).startswith("Nothing stands out")
    assert quiet_sentences(found, shown=100) == []
    (lower,) = quiet_sentences(found, shown=1)
    assert lower.startswith("3 more stand lower")


def test_effects_shared_by_all_are_nobody_s() -> None:
    work = deal_out(60, confounding=RANDOMISED, people=3, rng=np.random.default_rng(4))
    batches = logged(np.full(60, 40), np.full(60, 8), person=work.person)
    assert all(line.call is Call.NOTHING for line in looked_over(batches).lines)
