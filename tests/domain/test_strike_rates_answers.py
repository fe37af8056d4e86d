"""Answers: groups in order, rows, columns, and the line each gives in a file."""

from app.domain.strike_rates import NO_FACTS
from app.domain.strike_rates_answers import (
    FIGURES,
    RateAnswer,
    RateGroup,
    arranged,
    columns_of,
    figures_of,
    row_sums,
    sum_of,
)
from app.domain.strike_rates_keys import RateKey
from app.domain.strike_rates_questions import RateQuestion
from tests.domain.rate_batches import Counts

TEN = Counts(rooted=6, lost=4).facts
QUESTION = RateQuestion(by=(RateKey.GENUS, RateKey.MONTH))


def group(*values: str) -> RateGroup:
    return RateGroup(values=values, facts=TEN)


def answer(*groups: RateGroup) -> RateAnswer:
    ordered = arranged(groups, question=QUESTION)
    return RateAnswer(
        question=QUESTION, groups=ordered, rows=row_sums(ordered), total=sum_of(ordered)
    )


def test_groups_stand_by_alphabet_then_calendar() -> None:
    found = answer(group("Hebe", "10"), group("Cistus", "11"), group("Hebe", "2"))
    assert [each.values for each in found.groups] == [
        ("Cistus", "11"),
        ("Hebe", "2"),
        ("Hebe", "10"),
    ]
    assert found.columns == ("2", "10", "11")
    assert [row.values for row in found.rows] == [("Cistus",), ("Hebe",)]
    assert found.rows[1].facts.every.stuck == 20
    assert found.total.every.batches == 3


def test_empty_squares_are_empty() -> None:
    grid = answer(group("Hebe", "10"), group("Cistus", "11")).grid
    assert [[bool(square) for square in row] for row in grid] == [[False, True], [True, False]]


def test_groups_that_read_the_same_are_one() -> None:
    (joined,) = arranged([group("Hebe", "4"), group("Hebe", "4")], question=QUESTION)
    assert joined.facts.every.batches == 2


def test_no_groups_give_an_empty_answer() -> None:
    found = answer()
    assert (found.groups, found.columns, found.rows, found.grid) == ((), (), (), ())
    assert found.total == NO_FACTS


def test_the_line_of_a_finished_group() -> None:
    question = RateQuestion(by=(RateKey.GENUS,))
    figures = figures_of(group("Hebe"), question=question)
    line = dict(zip(columns_of(question), figures, strict=True))
    assert line == {
        "genus": "Hebe",
        "batches": 1,
        "stuck": 10,
        "rooted": 6,
        "lost": 4,
        "dumped": 0,
        "cleared_unrooted": 0,
        "unrooted": 0,
        "strike_share": 0.6,
        "low_share": line["low_share"],
        "high_share": line["high_share"],
        "estimate_share": 0.6,
        "estimate_low_share": line["low_share"],
        "estimate_high_share": line["high_share"],
        "basis": "finished",
    }


def test_the_line_of_a_young_group_has_no_rate() -> None:
    young = Counts(rooted=3, unrooted=5, cleared_unrooted=2, counted_at=20).facts
    line = dict(
        zip(
            FIGURES,
            figures_of(RateGroup(values=(), facts=young), question=RateQuestion()),
            strict=True,
        )
    )
    assert (line["strike_share"], line["low_share"], line["high_share"]) == (None, None, None)
    assert (line["estimate_share"], line["estimate_low_share"]) == (None, 0.3)
    assert (line["estimate_high_share"], line["basis"]) == (1.0, "bounds")


def test_months_and_years_are_numbers_in_files() -> None:
    question = RateQuestion(by=(RateKey.MONTH, RateKey.BENCH))
    for month, figure in (("4", 4), ("not recorded", "not recorded")):
        figures = figures_of(group(month, "7"), question=question)
        assert figures[:3] == (figure, "7", 1)
