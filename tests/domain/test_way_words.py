"""Sentences written for cuttings, told of divisions and grafts."""

import pytest

from app.domain.cutting_types import CuttingType, is_cutting
from app.domain.way_words import kind_words, told_for

DIVISION, GRAFT = CuttingType.DIVISION, CuttingType.GRAFT


@pytest.mark.parametrize(
    ("sentence", "division", "graft"),
    [
        (
            "Of 20 stuck 12 rooted, 8 unrooted: 60 %.",
            "Of 20 divided 12 alive, 8 not settled: 60 %.",
            "Of 20 grafted 12 taken, 8 not taken yet: 60 %.",
        ),
        ("22 newly rooted", "22 newly found alive", "22 newly taken"),
        ("Rooted 40 and lost 12", "Alive 40 and lost 12", "Taken 40 and lost 12"),
        (
            "3 cuttings left unrooted.",
            "3 divisions left not settled.",
            "3 grafts left not taken yet.",
        ),
        (
            "4 cleared unrooted",
            "4 cleared before it was known",
            "4 cleared before it was known",
        ),
        ("9 re-stuck", "9 re-stuck", "9 re-stuck"),
        ("not rooted yet", "not settled yet", "not taken yet"),
    ],
)
def test_each_way_has_its_own_words(sentence: str, division: str, graft: str) -> None:
    assert told_for(sentence, cutting_type=DIVISION) == division
    assert told_for(sentence, cutting_type="graft") == graft
    assert told_for(sentence, cutting_type=CuttingType.ROOT) == sentence
    assert told_for(sentence, cutting_type=None) == sentence


def test_words_inside_words_are_left_alone() -> None:
    assert told_for("rootstock uprooted", cutting_type=GRAFT) == "rootstock uprooted"
    assert told_for("lost (root rot 3)", cutting_type=GRAFT) == "lost (root rot 3)"


def test_numbers_with_their_kind() -> None:
    assert kind_words(96, cutting_type=CuttingType.SEMI_RIPE) == "96 semi-ripe"
    assert kind_words(1, cutting_type=GRAFT) == "1 graft"
    assert kind_words(1200, cutting_type="division") == "1,200 divisions"
    assert kind_words(5, cutting_type="") == "5"


def test_what_is_a_cutting() -> None:
    assert not is_cutting(DIVISION)
    assert not is_cutting("graft")
    assert is_cutting("")
    assert is_cutting(None)
    assert all(is_cutting(each) for each in CuttingType if each not in {DIVISION, GRAFT})
