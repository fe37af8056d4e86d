"""The answer in words."""

from dataclasses import replace
from datetime import timedelta

from app.domain.order_words import (
    RUN_A_TEST,
    answer_sentence,
    basis_code,
    basis_sentences,
    stock_sentences,
)
from app.domain.published_rates import find_published_rate
from app.domain.stock_needs import StockYield, stock_need
from tests.domain.test_order_plans import OTHERS, TEN, TODAY, basis, batches, none, plan

GIVEN = StockYield(plants=40, fit=30, cuts=(8.0,) * 10, expected=None, rest_weeks=4)


def test_the_answer_in_one_sentence() -> None:
    found = plan()
    need = stock_need(found.stick or 0, given=GIVEN, window_weeks=9)
    sentence = answer_sentence(found, need=need, today=TODAY)
    assert need is not None
    assert sentence.startswith(f"Stick {found.stick:,} cuttings on or before ")
    for words in (
        "in 3 batches",
        f"from at least {need.plants} stock plants in 3 flushes",
        f"about {found.expected:,} plants ({found.low:,} to {found.high:,})",
        "with a chance of 90 % of 500 or more.",
    ):
        assert words in sentence


def test_a_day_that_was_chosen_is_no_limit() -> None:
    found = plan(stick_on=TODAY + timedelta(days=60), batches=1)
    sentence = answer_sentence(found, need=None, today=TODAY)
    assert "cuttings on Sun 24 Jan in one batch; expect" in sentence


def test_each_refusal_says_why_and_what_to_do() -> None:
    nothing = answer_sentence(plan(none()), need=None, today=TODAY)
    late = answer_sentence(plan(due_on=TODAY + timedelta(days=20)), need=None, today=TODAY)
    short = answer_sentence(plan(due_on=TODAY + timedelta(days=38)), need=None, today=TODAY)
    poor = plan(batches((1, 1, 0, 300), (1, 1, 0, 200), (1, 1, 0, 50)))
    assert "no batch of this nursery says" in nothing
    assert "Too late" in late and "later day" in late
    assert "too few have time to root" in short
    assert "even ten cuttings for each plant" in answer_sentence(poor, need=None, today=TODAY)
    assert all(
        RUN_A_TEST in one for one in (nothing, answer_sentence(poor, need=None, today=TODAY))
    )


def test_what_it_rests_on_is_said_with_its_standing() -> None:
    own = " ".join(basis_sentences(plan(), genus="Hebe"))
    assert "rests on 10 batches of your own" in own
    assert "from the method card: common practice, no source" in own
    assert "95 % are taken to be ready in the end (common practice, no source), 21 days" in own
    leaning = " ".join(basis_sentences(plan(OTHERS, sure_share=0.5), genus="Hebe"))
    assert "none of Hebe yet, so it leans on 6 batches of the whole nursery" in leaning
    assert RUN_A_TEST in leaning
    few = batches((1, 1, 20, 40), (1, 2, 30, 40), (1, 2, 31, 40))
    assert "only 1 batch of it, so it leans on 3 batches of Hebe" in " ".join(
        basis_sentences(plan(few), genus="Hebe")
    )


def test_a_published_share_is_named_with_its_source() -> None:
    published = find_published_rate(genus="Ilex", species="crenata")
    rested = replace(plan(none()), basis=basis(none(), published=published))
    words = " ".join(basis_sentences(rested, genus="Ilex"))
    assert "no batch of yours yet" in words
    assert "leans on 5 published results, 89 to 100 % (W. L. Doran, 1941" in words
    assert "with a wide margin" in words
    assert basis_code(rested) == "published"
    assert [basis_code(plan(known)) for known in (TEN, OTHERS, none())] == [
        "own",
        "nursery",
        "none",
    ]


def test_stock_plants_at_hand_and_not() -> None:
    need = stock_need(906, given=GIVEN, window_weeks=3)
    said = " ".join(stock_sentences(need, given=GIVEN))
    assert "114 stock plants in one flush, with 4 weeks of rest" in said
    assert "four in five of 10 recorded cuts" in said
    assert "Only 30 of the 40 kept may be cut today" in said
    nobody = StockYield(plants=0, fit=0, cuts=(), expected=None, rest_weeks=None)
    assert "No stock plant of it is kept" in " ".join(stock_sentences(None, given=nobody))
    silent = replace(nobody, plants=3, fit=3)
    assert "not recorded" in " ".join(stock_sentences(None, given=silent))
    expected = replace(silent, expected=5.0)
    said = " ".join(stock_sentences(stock_need(80, given=expected, window_weeks=3), given=expected))
    assert "since no rest between two cuts is recorded" in said
    assert "0.8 times what is expected of it; common practice, no source" in said
