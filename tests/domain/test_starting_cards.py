"""The cards the program brings along are those of the table, each value with its standing.

The table: starting values by genus and type, sourced fields from works named in it, the rest
common practice, no source.
"""

import re
from dataclasses import replace

from app.domain.card_months import parse_months
from app.domain.cutting_types import CuttingType, Section
from app.domain.method_card_starts import single_hormone
from app.domain.method_cards import CardValues
from app.domain.standings import COMMON_PRACTICE
from app.domain.starting_cards import StartingCard, starting_cards, starting_sources


def card(genus: str, cutting_type: CuttingType, species: str = "") -> StartingCard:
    return next(
        one
        for one in starting_cards()
        if (one.entry.genus, one.entry.species, one.entry.cutting_type)
        == (genus, species, cutting_type)
    )


def test_every_row_is_a_card_of_its_own() -> None:
    keys = {
        (one.entry.genus, one.entry.species, one.entry.cutting_type) for one in starting_cards()
    }
    assert len(keys) == len(starting_cards()) == 79


def test_a_sourced_value_names_its_work_and_the_rest_says_common_practice() -> None:
    # Salix: type, hormone, weeks and cover from Luna, Glacier National Park; months from no source.
    salix = card("Salix", CuttingType.HARDWOOD)
    assert salix.entry.values.weeks_low == 1
    assert salix.entry.values.weeks_high == 6
    assert salix.standings["weeks"].startswith("Tara Luna, Protocol: Salix scouleriana")
    assert salix.standings["cover"] == salix.standings["weeks"]
    assert salix.standings["months"] == COMMON_PRACTICE


def test_a_card_without_a_source_is_all_common_practice() -> None:
    cistus = card("Cistus", CuttingType.SEMI_RIPE)
    said = {name: where for name, where in cistus.standings.items() if name != "checks"}
    assert set(said.values()) == {COMMON_PRACTICE}
    from_the_table = replace(
        cistus.entry.values,
        material="",
        length_cm_low=None,
        length_cm_high=None,
        mix="",
        container="",
        light="",
        aftercare="",
        checks="",
        steps=(),
        troubles=(),
    )
    assert from_the_table == CardValues(
        months=parse_months("8-10"),
        hormone_substance="IBA",
        hormone_form="quick dip or talc",
        hormone_ppm_low=0,
        hormone_ppm_high=1500,
        weeks_low=4,
        weeks_high=8,
        cover="covered",
        bottom_heat_c_low=18,
        bottom_heat_c_high=20,
    )


def test_every_value_has_a_standing_and_no_blank_has_one() -> None:
    for one in starting_cards():
        values = one.entry.values
        assert ("section" in one.standings) == (values.section is not None)
        assert ("hormone" in one.standings) == bool(values.hormone_substance)
        assert ("bottom_heat" in one.standings) == (values.bottom_heat_c_low is not None)
        assert all(one.standings.values())


def test_a_few_values_as_the_table_has_them() -> None:
    pelargonium = card("Pelargonium", CuttingType.SOFTWOOD)
    assert (pelargonium.entry.values.cover, pelargonium.entry.values.section) == (
        "none",
        Section.TIP,
    )
    hormone = single_hormone(pelargonium.entry.values)
    assert hormone is not None
    assert hormone.substance == "none"
    cephalotaxus = single_hormone(card("Cephalotaxus", CuttingType.RIPEWOOD).entry.values)
    assert cephalotaxus is not None
    assert cephalotaxus.label == "K-IBA quick dip 10000 ppm"
    rosemary = card("Salvia", CuttingType.SOFTWOOD, "rosmarinus")
    assert rosemary.entry.values.hormone_ppm_high == 3000


def test_notes_name_works_in_words() -> None:
    marks = set(starting_sources())
    for one in starting_cards():
        words = set(re.findall(r"[A-Za-z0-9-]+", one.entry.values.notes))
        assert not words & marks
    assert '"Take hardwood cuttings"' in card("Buddleja", CuttingType.SOFTWOOD).entry.values.notes
