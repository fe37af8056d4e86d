"""What holds for a card, where its values come from, and what a batch is filled with."""

from dataclasses import replace

import pytest

from app.domain.card_months import parse_months
from app.domain.cutting_types import Cut, CuttingType, Section
from app.domain.hormones import Hormone
from app.domain.method_card_names import accepted_card
from app.domain.method_card_starts import single_hormone, starting_values
from app.domain.method_card_words import card_lines, card_sources, hormone_words
from app.domain.method_cards import (
    THIS_NURSERY,
    CardEntry,
    CardValues,
    accepted_values,
    own_standings,
)
from app.domain.nursery import Hemisphere
from app.domain.problems import NotAccepted
from app.domain.standings import COMMON_PRACTICE

CARD = CardValues(
    months=parse_months("8-10"),
    cut=Cut.NODAL,
    section=Section.TIP,
    length_cm_low=10,
    length_cm_high=12,
    leaves_low=3,
    leaves_high=3,
    hormone_substance="IBA",
    hormone_form="quick dip or talc",
    hormone_ppm_low=2000,
    hormone_ppm_high=2000,
    weeks_low=4,
    weeks_high=6,
    cover="covered",
    bottom_heat_c_low=20,
    bottom_heat_c_high=22,
)
STANDINGS = {
    "cutting_type": "A. Writer, 1999",
    "weeks": "A. Writer, 1999",
    "months": COMMON_PRACTICE,
}


def test_a_batch_is_filled_with_what_the_card_says() -> None:
    start = starting_values(CARD, standings=STANDINGS)
    assert (start.cut, start.section, start.cover) == (Cut.NODAL, Section.TIP, "covered")
    assert (start.leaves_left, start.length_cm) == (3, None)
    assert start.bottom_heat_c == 21
    assert (start.weeks_low, start.weeks_high) == (4, 6)
    assert start.hormone == Hormone(substance="IBA", ppm=2000)
    assert start.standings == {"weeks_low": "A. Writer, 1999", "weeks_high": "A. Writer, 1999"}


@pytest.mark.parametrize(
    ("changed", "hormone"),
    [
        ({"hormone_ppm_low": 1000}, None),
        ({"hormone_ppm_low": 0}, None),
        ({"hormone_ppm_low": 0, "hormone_ppm_high": 0}, None),
        ({"hormone_substance": ""}, None),
        ({"hormone_form": "talc"}, Hormone(substance="IBA", form="talc", ppm=2000)),
        ({"hormone_substance": "none"}, Hormone(substance="none")),
        (
            {"hormone_substance": "K-IBA", "hormone_form": "quick dip"},
            Hormone(substance="K-IBA", form="quick dip", ppm=2000),
        ),
    ],
)
def test_a_hormone_is_filled_in_only_where_there_is_one_strength(
    changed: dict[str, object], hormone: Hormone | None
) -> None:
    assert single_hormone(replace(CARD, **changed)) == hormone  # type: ignore[arg-type]


def test_what_is_changed_becomes_this_nurserys_own_and_the_rest_keeps_its_source() -> None:
    after = replace(CARD, weeks_high=8, months=frozenset(), mix="Frame mix")
    standings = own_standings(after, before=CARD, standings=STANDINGS | {"cut": COMMON_PRACTICE})
    assert standings["weeks"] == THIS_NURSERY
    assert standings["mix"] == THIS_NURSERY
    assert standings["cut"] == COMMON_PRACTICE
    assert standings["cutting_type"] == "A. Writer, 1999"
    assert "months" not in standings


def test_a_new_card_is_all_this_nurserys_own() -> None:
    standings = own_standings(CARD, before=None, standings={})
    assert set(standings.values()) == {THIS_NURSERY}
    assert "notes" not in standings


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"weeks_low": 7}, "weeks"),
        ({"weeks_low": 0}, "weeks"),
        ({"weeks_high": 157}, "weeks"),
        ({"bottom_heat_c_high": 41}, "bottom_heat"),
        ({"bottom_heat_c_low": -1}, "bottom_heat"),
        ({"length_cm_high": 201}, "length"),
        ({"leaves_high": 51, "leaves_low": 1}, "leaves"),
        ({"hormone_ppm_high": 100_001}, "hormone_ppm"),
        ({"hormone_substance": " "}, "hormone_substance"),
    ],
)
def test_what_no_card_can_say(changed: dict[str, object], field: str) -> None:
    with pytest.raises(NotAccepted) as refused:
        accepted_values(replace(CARD, **changed))  # type: ignore[arg-type]
    assert [problem.field for problem in refused.value.problems] == [field]


@pytest.mark.parametrize(
    ("genus", "species", "wanted"),
    [
        (" cistus ", "", ("Cistus", "")),
        ("Cistus", "Ladanifer", ("Cistus", "ladanifer")),
        ("Cistus", "x purpureus", ("Cistus", "purpureus")),
    ],
)
def test_a_card_is_for_a_genus_or_a_species(
    genus: str, species: str, wanted: tuple[str, str]
) -> None:
    entry = accepted_card(
        CardEntry(genus=genus, species=species, cutting_type=CuttingType.SEMI_RIPE, values=CARD)
    )
    assert (entry.genus, entry.species) == wanted


@pytest.mark.parametrize(
    ("genus", "species", "field"),
    [
        ("", "", "genus"),
        ("Cistus 'Alan Fradd'", "", "genus"),
        ("Cistus", "ladanifer var. sulcatus", "species"),
        ("Cistus", "12", "species"),
    ],
)
def test_what_a_card_is_not_for(genus: str, species: str, field: str) -> None:
    entry = CardEntry(genus=genus, species=species, cutting_type=CuttingType.SEMI_RIPE, values=CARD)
    with pytest.raises(NotAccepted) as refused:
        accepted_card(entry)
    assert refused.value.problems[0].field == field


def test_a_card_is_told_line_by_line_with_where_each_comes_from() -> None:
    lines = card_lines(
        CARD,
        cutting_type=CuttingType.SEMI_RIPE,
        standings=STANDINGS,
        hemisphere=Hemisphere.SOUTH,
    )
    told = {line.group: (line.words, line.standing) for line in lines}
    assert told["months"] == ("February to April", COMMON_PRACTICE)
    assert told["weeks"] == ("4 to 6 weeks", "A. Writer, 1999")
    assert told["bottom_heat"][0] == "20 to 22 °C"
    assert told["hormone"][0] == "IBA quick dip or talc 2,000 ppm"
    assert told["cutting_type"] == ("semi-ripe", "A. Writer, 1999")
    assert "mix" not in told
    assert card_sources(lines, lists={"steps": COMMON_PRACTICE}) == ("A. Writer, 1999",)
    lists = {"steps": "B. Planter, 2001"}
    assert card_sources(lines, lists=lists) == ("A. Writer, 1999", "B. Planter, 2001")


def test_hormones_in_words() -> None:
    assert hormone_words(replace(CARD, hormone_ppm_low=0)) == (
        "none, or IBA quick dip or talc up to 2,000 ppm"
    )
    assert hormone_words(CardValues(hormone_substance="none")) == "no hormone"
    assert hormone_words(CardValues(hormone_substance="IBA")) == "IBA"
    assert hormone_words(CardValues()) == ""
