"""Departures from a method card are said with the card's own standing, and refuse nothing.

The cards here are made up for the test; reasons are common practice, no source.
"""

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from app.domain.advisories import Surroundings, deviations, usual_ways
from app.domain.batches import BatchEntry
from app.domain.card_advisories import CardSays
from app.domain.cutting_types import Cut, CuttingType, Section
from app.domain.hormones import Hormone
from app.domain.method_cards import CardValues
from app.domain.standings import Advisory

TODAY = date(2026, 6, 25)
PLAIN = BatchEntry(plant_name_id=1, stuck_on=TODAY, stuck=96, cutting_type=CuttingType.SEMI_RIPE)
_GROUPS = ("length", "leaves", "hormone", "cover", "cut", "section", "bottom_heat")
BOOK = dict.fromkeys(_GROUPS, "A. Writer, 1999")
CARD = CardSays(
    values=CardValues(
        length_cm_low=6,
        length_cm_high=8,
        leaves_low=4,
        leaves_high=6,
        cut=Cut.HEEL,
        section=Section.TIP,
        hormone_substance="IBA",
        hormone_form="talc",
        hormone_ppm_low=1000,
        hormone_ppm_high=3000,
        cover="mist",
        bottom_heat_c_low=18,
        bottom_heat_c_high=20,
    ),
    standings=BOOK,
)


def said(card: CardSays = CARD, **changes: Any) -> dict[str, Advisory]:
    around = Surroundings(today=TODAY, genus="Hebe", card=card)
    found = deviations(replace(PLAIN, **changes), around=around)
    return {advisory.field: advisory for advisory in found}


@pytest.mark.parametrize(
    ("field", "inside", "outside", "words"),
    [
        ("length_cm", [6, 7.5, 8], [5.9, 12], "the method card says 6 to 8 cm"),
        ("leaves_left", [4, 6], [3, 7], "the method card says 4 to 6"),
        ("bottom_heat_c", [16, 18, 22], [15.5, 23], "the method card says 18 to 20 °C"),
        ("cut", [Cut.HEEL], [Cut.NODAL], "the method card says heel"),
        ("section", [Section.TIP], [Section.BASAL], "the method card says tip"),
        ("cover", ["fog", ""], ["none"], "as without roots they dry out"),
        (
            "hormone",
            [Hormone(substance="IBA", ppm=1000), Hormone(substance="IBA", form="talc")],
            [
                Hormone(substance="IBA", ppm=8000),
                Hormone(substance="NAA", ppm=1000),
                Hormone(substance="K-IBA", ppm=1000),
                Hormone(substance="none"),
            ],
            "the method card says IBA talc 1,000 to 3,000 ppm",
        ),
    ],
)
def test_outside_what_the_card_says(
    field: str, inside: list[Any], outside: list[Any], words: str
) -> None:
    for value in inside:
        assert said(**{field: value}) == {}, value
    for value in outside:
        advisory = said(**{field: value})[field]
        assert words in advisory.sentence
        assert advisory.standing == "A. Writer, 1999"
        assert not advisory.urgent


def test_hormone_where_the_card_says_none() -> None:
    bare = replace(CARD, values=replace(CARD.values, hormone_substance="none"))
    dipped = Hormone(substance="IBA", form="talc", ppm=1000)
    assert "the method card says no hormone" in said(bare, hormone=dipped)["hormone"].sentence
    assert said(bare, hormone=Hormone(substance="none")) == {}


def test_none_does_as_well_where_the_card_begins_at_nothing() -> None:
    either = replace(CARD, values=replace(CARD.values, hormone_ppm_low=0))
    assert said(either, hormone=Hormone(substance="none")) == {}


def test_a_card_that_leaves_uncovered() -> None:
    bare = replace(CARD, values=replace(CARD.values, cover="none"))
    assert "closed air rots" in said(bare, cover="mist")["cover"].sentence
    assert said(bare, cover="none") == {}


def test_the_card_speaks_before_the_type() -> None:
    # Semi-ripe is usually 10 to 15 cm; this card asks for 6 to 8.
    assert said(length_cm=7) == {}
    ways = {each.field: each for each in usual_ways(CuttingType.SEMI_RIPE, card=CARD)}
    assert ways["length_cm"].words == "The method card says 6 to 8 cm. (A. Writer, 1999)"
    assert "usually" in ways["flowering"].sentence or "best avoided" in ways["flowering"].sentence


def test_a_card_that_says_nothing_adds_nothing() -> None:
    assert said(CardSays(), hormone=Hormone(substance="NAA", ppm=1000), cover="none") == {}
