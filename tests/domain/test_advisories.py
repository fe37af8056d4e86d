"""Facts of the trade: what departs from them is said, never refused.

Lengths, leaves, nodes, buds, mix, edge of the pot, cover: common practice, no source. Limits of
hormone strength: common practice, no source. Seconds of a dip and hours of a soak: CONFIRMED,
K. A. Longman 1993, Rooting Cuttings of Tropical Trees, sheet A 40.
"""

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from app.domain.advisories import Surroundings, deviations, usual_ways
from app.domain.batches import BatchEntry
from app.domain.card_advisories import CardSays
from app.domain.cutting_types import Cut, CuttingType
from app.domain.hormones import Hormone
from app.domain.method_cards import CardValues
from app.domain.standings import Advisory

TODAY = date(2026, 11, 25)
PLAIN = BatchEntry(plant_name_id=1, stuck_on=TODAY, stuck=96)
AROUND = Surroundings(today=TODAY, genus="Hebe")


def said(around: Surroundings = AROUND, **changes: Any) -> dict[str, Advisory]:
    found = deviations(replace(PLAIN, **changes), around=around)
    return {advisory.field: advisory for advisory in found}


def test_nothing_recorded_departs_from_nothing() -> None:
    assert said() == {}


@pytest.mark.parametrize(
    ("cutting_type", "inside", "outside"),
    [
        (CuttingType.SOFTWOOD, [5, 7.5, 10], [4.9, 10.1]),
        (CuttingType.SEMI_RIPE, [10, 12, 15], [9, 16]),
        (CuttingType.HARDWOOD, [10, 30], [31]),
        (CuttingType.ROOT, [2, 40], []),
    ],
)
def test_length_by_cutting_type(
    cutting_type: CuttingType, inside: list[float], outside: list[float]
) -> None:
    for length in inside:
        assert said(cutting_type=cutting_type, length_cm=length) == {}
    for length in outside:
        advisory = said(cutting_type=cutting_type, length_cm=length)["length_cm"]
        assert advisory.standing == "common practice, no source"
        assert f"{length:g} cm" in advisory.sentence
        assert not advisory.urgent


def test_leaves_left_on_softwood() -> None:
    assert said(cutting_type=CuttingType.SOFTWOOD, leaves_left=3) == {}
    assert "leaves_left" in said(cutting_type=CuttingType.SOFTWOOD, leaves_left=5)
    assert said(cutting_type=CuttingType.SEMI_RIPE, leaves_left=5) == {}


def test_softwood_is_cut_below_a_node_unless_the_card_says_otherwise() -> None:
    internodal = {"cutting_type": CuttingType.SOFTWOOD, "cut": Cut.INTERNODAL}
    assert "below a node" in said(**internodal)["cut"].sentence
    internodes = CardSays(values=CardValues(cut=Cut.INTERNODAL))
    clematis = replace(AROUND, genus="Clematis", card=internodes)
    assert said(clematis, **internodal) == {}


def test_flowering_shoots_are_remarked_on_unless_disbudded() -> None:
    assert "flowering" in said(flowering=True)
    assert "flowering" in said(growth_stage="in bud")
    assert said(flowering=True, buds_removed=True) == {}


def test_softwood_is_covered_but_for_a_few_genera() -> None:
    softwood = CuttingType.SOFTWOOD
    assert "usually covered" in said(cutting_type=softwood, cover="none")["cover"].sentence
    assert said(cutting_type=softwood, cover="mist") == {}
    pelargonium = replace(AROUND, genus="Pelargonium")
    assert said(pelargonium, cutting_type=softwood, cover="none") == {}
    assert "left uncovered" in said(pelargonium, cover="mist")["cover"].sentence
    dipped = Hormone(substance="IBA", form="talc", ppm=1000)
    assert "without hormone" in said(pelargonium, hormone=dipped)["hormone"].sentence
    assert said(pelargonium, hormone=Hormone(substance="none")) == {}


def test_one_cutting_in_the_middle_of_a_pot() -> None:
    pots = replace(AROUND, container_kind="pot")
    assert "round the edge" in said(pots, per_place=1)["placed"].sentence
    assert "round the edge" in said(pots, per_place=3, placed="middle")["placed"].sentence
    assert said(pots, per_place=6, placed="round the edge") == {}
    assert said(replace(AROUND, container_kind="tray"), per_place=1) == {}


def test_warmth_of_the_medium() -> None:
    assert said(bottom_heat_c=20) == {}
    assert "bottom_heat_c" in said(bottom_heat_c=28)


@pytest.mark.parametrize(
    ("form", "inside", "outside"),
    [
        ("quick dip", 20_000, 20_001),
        ("soak", 200, 201),
        ("talc", 20_000, 20_001),
        ("", 20_000, 30_000),
    ],
)
def test_strength_for_the_form(form: str, inside: int, outside: int) -> None:
    assert said(hormone=Hormone(substance="IBA", form=form, ppm=inside)) == {}
    advisory = said(hormone=Hormone(substance="IBA", form=form, ppm=outside))["hormone"]
    assert advisory.urgent
    assert advisory.standing == "common practice, no source"


def test_a_soak_at_the_strength_of_a_dip_is_warned_of() -> None:
    soak = Hormone(substance="IBA", form="soak", ppm=3000)
    assert "strength of a dip, not of a soak" in said(hormone=soak)["hormone"].sentence
    unnamed = Hormone(substance="IBA", ppm=3000)
    assert said(hormone=unnamed, dip_s=5) == {}
    assert "not of a soak" in said(hormone=unnamed, dip_s=6 * 3600)["hormone"].sentence


def test_seconds_of_a_dip_and_of_a_soak() -> None:
    dip = Hormone(substance="IBA", form="quick dip", ppm=150)
    soak = Hormone(substance="IBA", form="soak", ppm=50)
    assert said(hormone=dip, dip_s=5) == {}
    assert "1 to 5 seconds" in said(hormone=dip, dip_s=300)["dip_s"].sentence
    assert said(hormone=soak, dip_s=4 * 3600) == {}
    assert "4 to 12 hours" in said(hormone=soak, dip_s=12)["dip_s"].sentence


def test_no_hormone_has_no_strength() -> None:
    assert said(hormone=Hormone(substance="none"), dip_s=5) == {}


def test_months_of_the_card() -> None:
    august_to_october = replace(AROUND, card_months=frozenset({8, 9, 10}))
    advisory = said(august_to_october)["taken_on"]
    assert "November is outside the months on the method card (August to October)" in (
        advisory.sentence
    )
    assert said(august_to_october, taken_on=date(2026, 10, 31)) == {}
    book = CardSays(standings={"months": "a book"})
    winter = replace(AROUND, card_months=frozenset({12, 1, 2}), card=book)
    assert "(December to February)" in said(winter)["taken_on"].sentence
    assert said(winter)["taken_on"].standing == "a book"
    assert said(replace(AROUND, card_months=frozenset(range(1, 13)))) == {}


def test_a_day_long_ago_is_asked_about() -> None:
    advisory = said(stuck_on=date(2025, 11, 26))["stuck_on"]
    assert advisory.urgent
    assert advisory.words == "Wed 26 November 2025 is long ago: is the year right?"


def test_usual_ways_stand_by_their_fields() -> None:
    softwood = {advisory.field: advisory for advisory in usual_ways(CuttingType.SOFTWOOD)}
    assert softwood["length_cm"].words == (
        "Softwood cuttings are usually 5 to 10 cm. (common practice, no source)"
    )
    assert "Two or three leaves" in softwood["leaves_left"].sentence
    assert "covered" in softwood["cover"].sentence
    assert "just below a node" in softwood["cut"].sentence
    assert "perlite and compost" in softwood["mix"].sentence
    hardwood = {advisory.field: advisory for advisory in usual_ways(CuttingType.HARDWOOD)}
    assert "up to about 30 cm" in hardwood["length_cm"].sentence
    assert "cover" not in hardwood
    nothing = {advisory.field for advisory in usual_ways(None)}
    assert "length_cm" not in nothing


def test_usual_ways_of_a_genus_that_wants_it_otherwise() -> None:
    ways = {
        advisory.field: advisory.sentence
        for advisory in usual_ways(CuttingType.SOFTWOOD, genus="Pelargonium")
    }
    assert ways["cover"] == "Pelargonium is usually left uncovered."
    assert ways["hormone"] == "Pelargonium is usually stuck without hormone."
