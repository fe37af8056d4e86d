"""Cultivar epithets. Rules for new ones only ask: the year of an epithet is not known.

Capitals, no more than 30 characters and no abbreviations are CONFIRMED by a teaching slide of
Cornell University (hort243, "Rules for cultivars"); ICNCP articles are FROM MEMORY.
"""

import pytest

from app.domain.plant_name_rules import NameStatus, Remarks, letters_counted, read_epithet
from app.domain.problems import NotAccepted


def read(epithet: str) -> tuple[str, NameStatus]:
    remarks = Remarks()
    return read_epithet(epithet, genus="Dahlia", remarks=remarks), remarks.status


def test_letters_are_counted_without_spaces() -> None:
    # Both counted by hand: 23 letters and 40.
    assert letters_counted("Andenken an Friedrich Hahn") == 23
    assert letters_counted("The Extraordinarily Fragrant Climbing Beauty") == 40


def test_thirty_letters_pass_and_one_more_is_asked_about() -> None:
    assert read("A" + "b" * 29)[1] is NameStatus.OK
    assert read("A" + "b" * 30)[1] is NameStatus.WARN


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("red robin", "Red Robin"),
        ("the fairy", "The Fairy"),
        ("Souvenir de la Malmaison", "Souvenir de la Malmaison"),
        ("Pot O' Gold", "Pot O' Gold"),
        ("ICE-BLUE", "Ice-Blue"),
    ],
)
def test_capitals_are_put(typed: str, kept: str) -> None:
    assert read(typed)[0] == kept


@pytest.mark.parametrize("sign", list("&@\\#<>=*?:;()[]{}×+%"))
def test_a_sign_that_no_epithet_holds_is_refused(sign: str) -> None:
    with pytest.raises(NotAccepted, match="epithet"):
        read(f"Pink{sign}Blue")


@pytest.mark.parametrize("sign", list("',-.!/"))
def test_a_permitted_sign_is_kept(sign: str) -> None:
    assert read(f"Pink{sign}Blue") == (f"Pink{sign}Blue", NameStatus.OK)


@pytest.mark.parametrize("word", ["Hybrid", "Sports", "Selection", "Series", "Strain"])
def test_a_word_barred_from_new_epithets_is_asked_about(word: str) -> None:
    assert read(f"Best {word}")[1] is NameStatus.WARN
