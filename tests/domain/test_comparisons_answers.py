"""Whole answers: one genus leaning on the others, strengths side by side, both levels at once."""

from typing import Any

import numpy as np
import pytest

from app.domain.comparisons_answers import ComparisonAnswer, answer_comparison
from app.domain.comparisons_batches import ComparisonRecords
from app.domain.comparisons_questions import ComparisonQuestion, Factor
from app.domain.comparisons_strengths import Strengths
from app.domain.comparisons_verdicts import Verdict
from app.domain.comparisons_words import (
    Names,
    genus_sentences,
    more_sentence,
    names_of,
    points_words,
    verdict_sentence,
)
from app.domain.comparisons_workings import check_sentence, plain_sentence, remarks, workings
from app.domain.people import Actor
from app.domain.strike_rates_keys import RateKey
from app.domain.strike_rates_questions import RateFilter, RateQuestion
from tests.domain.compared_batches import logged

GENERA = {1: "Cistus", 2: "Fuchsia", 3: "Hebe", 4: "Salvia"}
SEASONS = ("winter", "spring", "summer", "autumn")


def records(
    genus: Any, sides: Any, shares: Any, *, extra: Any = None, **given: Any
) -> ComparisonRecords:
    genus, sides = np.asarray(genus), np.asarray(sides, dtype=bool)
    rooted = np.round(40 * np.asarray(shares)).astype(int)
    members = [sides, ~sides] if extra is None else [sides, ~sides, *extra]
    return ComparisonRecords(
        batches=logged(np.full(len(genus), 40), rooted, genus=genus, **given),
        members=np.array(members),
        genera=GENERA,
        people={7: "Tomas Quill", 8: "Ada Marsh"},
        hormones={},
    )


def answer(
    found: ComparisonRecords, *, genus: str = "", strengths: Strengths | None = None
) -> ComparisonAnswer:
    where = (RateFilter(key=RateKey.GENUS, value=genus),) if genus else ()
    question = ComparisonQuestion(
        factor=Factor.HORMONE, one="IBA", other="none", asked=RateQuestion(where=where)
    )
    return answer_comparison(
        question, records=found, strengths=strengths, fit=None, correlation=0.1
    )


def names(found: ComparisonRecords, actor: Actor) -> Names:
    return names_of(found, one="IBA", other="no hormone", seasons=SEASONS, actor=actor)


def four_genera(rng: np.random.Generator, *, effect: float = 0.15) -> ComparisonRecords:
    """Eighty batches of four genera, the first way better by `effect`; Fuchsia has four only."""
    genus = np.concatenate([np.repeat([1, 3, 4], 26), [2, 2]])
    sides = np.tile([True, False], 40)
    shares = 0.4 + 0.05 * genus + effect * sides + rng.normal(0.0, 0.08, 80)
    return records(genus, sides, np.clip(shares, 0.0, 1.0))


def test_one_genus_leans_on_the_others_and_both_are_said(head: Actor) -> None:
    found = four_genera(np.random.default_rng(3))
    told = answer(found, genus="fuchsia")
    assert told.genus is not None and told.genus.leaning is not None
    assert told.genus.name == "Fuchsia"
    leaning, alone = told.genus.leaning, told.genus.alone
    assert (leaning.one, leaning.other) == (1, 1)
    assert alone.verdict is Verdict.TOO_FEW
    assert told.whole.difference is not None and told.genera is not None
    # It lies by the whole's figure, with a wider range than the whole's and than those of others.
    assert leaning.points == pytest.approx(told.whole.difference.points, abs=0.05)
    width = leaning.high - leaning.low
    assert width > told.whole.difference.high - told.whole.difference.low
    assert all(width >= line.high - line.low for line in told.genera.lines)
    first, second = genus_sentences(told, names=names(found, head))
    assert first.startswith("Fuchsia, IBA against no hormone: ")
    assert "2 batches, leaning on the other genera" in first
    assert second.startswith("All genera: IBA against no hormone: +")
    few = "Fuchsia itself has only 1 batch of IBA and 1 batch of no hormone"
    assert any(few in sentence for sentence in remarks(told, names=names(found, head)))


def test_a_genus_stands_alone_where_the_whole_cannot_be_compared(head: Actor) -> None:
    # Cistus was done both ways; the other genera one way each, in other hands.
    rng = np.random.default_rng(4)
    genus = np.repeat([1, 3, 4], [12, 60, 60])
    sides = np.concatenate([np.tile([True, False], 6), np.repeat([True, False], [60, 60])])
    shares = np.clip(0.5 + rng.normal(0.0, 0.1, 132), 0.0, 1.0)
    found = records(genus, sides, shares)
    told = answer(found, genus="Cistus")
    assert told.whole.verdict is Verdict.NOT_SEPARABLE
    assert not told.leans
    assert told.main.batches == 12
    first, second = genus_sentences(told, names=names(found, head))
    assert first.startswith("Cistus by itself: IBA against no hormone")
    assert second.startswith("All genera: This cannot be separated: ")


def test_a_genus_without_batches_has_nothing_to_compare(head: Actor) -> None:
    found = four_genera(np.random.default_rng(5))
    told = answer(found, genus="Salix")
    sentence = genus_sentences(told, names=names(found, head))[0]
    assert (
        sentence
        == "Salix by itself: Nothing to compare: no finished batch of IBA nor of no hormone."
    )


def test_strengths_are_adjusted_for_looking_at_all_of_them() -> None:
    rng = np.random.default_rng(6)
    kinds = np.repeat([0, 1, 2, 3], 20)  # none, 1000, 3000, 8000 ppm
    shares = np.clip(0.5 + 0.2 * (kinds == 2) + rng.normal(0.0, 0.1, 80), 0.0, 1.0)
    members = [kinds == 0, *(kinds == strength for strength in (1, 2, 3))]
    found = records(np.ones(80, dtype=int), kinds == 2, shares, extra=members)
    found = ComparisonRecords(
        batches=found.batches,
        members=np.array([kinds == 2, kinds == 0, *members]),
        genera=found.genera,
        people={},
        hormones={},
    )
    levels = ("IBA 1000", "IBA 3000", "IBA 8000")
    told = answer(found, strengths=Strengths(base="none", levels=levels))
    assert [line.level for line in told.strengths] == list(levels)
    assert [line.stands for line in told.strengths] == [False, True, False]
    middle = told.strengths[1]
    assert told.whole.difference is not None
    assert middle.points == pytest.approx(told.whole.difference.points)
    assert middle.adjusted >= told.whole.difference.chance


def test_batches_of_both_levels_are_left_out_and_said(head: Actor) -> None:
    found = four_genera(np.random.default_rng(7))
    members = found.members.copy()
    members[:, :3] = True
    both = ComparisonRecords(
        batches=found.batches, members=members, genera=GENERA, people={}, hormones={}
    )
    told = answer(both)
    assert told.both_sides == 3
    assert told.whole.batches == 77
    assert "3 batches are left out that belong to both." in remarks(told, names=names(both, head))


def confounded() -> ComparisonRecords:
    person = np.tile([7, 8], 30)
    return records(np.ones(60, dtype=int), person == 7, np.full(60, 0.5), person=person)


def test_who_went_together_is_named_to_those_who_may_know(head: Actor, trainee: Actor) -> None:
    found = confounded()
    told = answer(found)
    said = verdict_sentence(told.whole, names=names(found, head))
    assert said == "This cannot be separated: IBA and Tomas Quill always went together."
    hidden = verdict_sentence(told.whole, names=names(found, trainee))
    assert hidden == "This cannot be separated: IBA and one person always went together."


def test_a_difference_that_cannot_be_separated_is_not_shown_in_the_workings(head: Actor) -> None:
    found = confounded()
    told = answer(found)
    steps = " ".join(workings(told, names=names(found, head)))
    assert "Left to compare: 0.0 %" in steps
    assert "would have rooted" not in steps
    assert plain_sentence(told.whole).endswith("why, nobody can tell.")


def test_the_workings_put_the_numbers_into_each_step(head: Actor) -> None:
    found = four_genera(np.random.default_rng(8))
    told = answer(found)
    steps = workings(told, names=names(found, head))
    text = " ".join(steps)
    assert "80 batches compared." in text
    assert "n / (1 + (n − 1) × 0.10)" in text
    # Forty batches of forty cuttings: 40 x 40 / (1 + 39 x 0.1) = 326.5
    assert "IBA: 1,600 cuttings, which tell us as much as 327 separate ones." in text
    assert "Held alike: genus." in text
    assert "degrees of freedom" in text
    check = check_sentence(told.whole)
    assert check.startswith("Like with like, only batches of the same genus, season and person: +")
    assert "Shuffling which was which 999 times" in check


def test_not_enough_evidence_says_how_many_more_would_do(head: Actor) -> None:
    rng = np.random.default_rng(9)
    shares = np.clip(rng.normal(0.5, 0.3, 12), 0.0, 1.0)
    found = records(np.ones(12, dtype=int), np.arange(12) % 2 == 0, shares)
    told = answer(found)
    assert told.whole.verdict is Verdict.NOT_ENOUGH
    sentence = verdict_sentence(told.whole, names=names(found, head))
    assert "not enough evidence; anything from −" in sentence
    assert more_sentence(told.whole).startswith("About ")
    assert "of 40 cuttings each way" in more_sentence(told.whole)
    assert "10 points four times out of five" in more_sentence(told.whole)


@pytest.mark.parametrize(
    ("share", "words"),
    [(0.064, "+6"), (-0.064, "−6"), (0.065, "+7"), (0.004, "+0.4"), (-0.0001, "0"), (0.0, "0")],
)
def test_points_are_whole_unless_they_are_small(share: float, words: str) -> None:
    assert points_words(share) == words
