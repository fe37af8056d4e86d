"""Mix lots: volumes, shrinkage, litres for containers, and what is unusual.

The numbers of shrinkage are exact arithmetic: 666.667 litres that make 600 shrink by 10 %; a 9 cm
round pot holds 0.380656 litres (a truncated cone, computed); 104 plugs of 30 mL are 3.12 litres, 84
of 55 mL are 4.62. What is usual of EC, pH and shrinkage: common practice, no source.
"""

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from app.domain.mix_lots import (
    LotIngredient,
    MixLotEntry,
    accepted_mix_lot,
    amount_words,
    litres_for,
    lot_remarks,
    parse_amount,
    pooled_shrinkage,
    shrinkage,
)
from app.domain.problems import NotAccepted

TODAY = date(2026, 11, 25)
LOT = MixLotEntry(
    mix_version_id=1,
    made_on=TODAY,
    litres=600,
    ingredients=(
        LotIngredient(ingredient="bark", supplier_lot="K 22", litres=1000 / 3),
        LotIngredient(ingredient="perlite", litres=2000 / 9),
        LotIngredient(ingredient="sand", litres=1000 / 9),
    ),
)


def test_what_went_in_against_what_came_out() -> None:
    assert LOT.put_in_l == pytest.approx(666.667, abs=1e-3)
    assert LOT.shrinkage_share == pytest.approx(0.10)
    assert list(lot_remarks(LOT)) == []


def test_without_every_volume_no_shrinkage_is_known() -> None:
    (bark, *others) = LOT.ingredients
    unknown = replace(LOT, ingredients=(replace(bark, litres=None), *others))
    assert unknown.put_in_l is None
    assert unknown.shrinkage_share is None
    assert replace(LOT, ingredients=()).shrinkage_share is None
    assert shrinkage(put_in_l=100, made_l=None) is None


def test_shrinkage_of_several_lots_weighs_the_large_ones_more() -> None:
    # 1,100 litres went in, 1,005 came out.
    assert pooled_shrinkage([(1000, 910), (100, 95)]) == pytest.approx(95 / 1100)
    assert pooled_shrinkage([(100, 104)]) == 0
    assert pooled_shrinkage([]) is None


@pytest.mark.parametrize(
    ("said", "litres"),
    [
        ({"volume_ml": 30, "plugs": 104, "trays": 1, "stuck": 100}, 3.12),
        ({"volume_ml": 55, "plugs": 84, "trays": 3, "stuck": 240}, 3 * 4.62),
        ({"volume_ml": 380.656, "plugs": None, "trays": None, "stuck": 50}, 19.0328),
        (
            {"volume_ml": 380.656, "plugs": None, "trays": None, "stuck": 50, "per_place": 4},
            4.948528,
        ),
        ({"volume_ml": None, "plugs": 84, "trays": 3, "stuck": 240}, None),
    ],
)
def test_litres_that_fill_the_containers(said: dict[str, Any], litres: float | None) -> None:
    found = litres_for(**{"per_place": None} | said)
    assert found == (litres if litres is None else pytest.approx(litres, abs=1e-6))


@pytest.mark.parametrize(
    ("typed", "amount", "again"),
    [
        ("300", (300, None, None), "300"),
        ("333,5 l", (333.5, None, None), "333.5"),
        ("6 bags of 50", (300, 6, 50), "6 bags of 50"),
        ("1.5 bags x 70 litres", (105, 1.5, 70), "1.5 bags of 70"),
        ("", (None, None, None), ""),
    ],
)
def test_amounts_as_typed(typed: str, amount: tuple[Any, Any, Any], again: str) -> None:
    litres, bags, bag_l = parse_amount(typed, field="amount")
    assert (litres, bags, bag_l) == amount
    said = LotIngredient(ingredient="bark", litres=litres, bags=bags, bag_l=bag_l)
    assert amount_words(said) == again


@pytest.mark.parametrize("typed", ["0", "some", "0 bags of 50", "6 bags of 0", "6 bags of"])
def test_amounts_that_cannot_be_read(typed: str) -> None:
    with pytest.raises(NotAccepted):
        parse_amount(typed, field="amount")


@pytest.mark.parametrize(
    ("changes", "fields"),
    [
        ({"made_on": TODAY + timedelta(days=1)}, ["made_on"]),
        ({"litres": 0}, ["litres"]),
        ({"medium_ph": 15}, ["medium_ph"]),
        ({"medium_ec": 1.1}, ["extraction"]),
        ({"extraction": "by guess"}, ["extraction"]),
        ({"container_ml": 380}, ["saturation_ml", "drained_ml"]),
        ({"container_ml": 380, "saturation_ml": 390, "drained_ml": 57}, ["saturation_ml"]),
        ({"notes": "x" * 4001}, ["notes"]),
        ({"ingredients": (LotIngredient(ingredient=" "),)}, ["ingredients-0-ingredient"]),
        (
            {"ingredients": (LotIngredient(ingredient="bark"), LotIngredient(ingredient="Bark"))},
            ["ingredients-1-ingredient"],
        ),
    ],
)
def test_what_cannot_be_is_refused_by_its_field(changes: dict[str, Any], fields: list[str]) -> None:
    with pytest.raises(NotAccepted) as caught:
        accepted_mix_lot(replace(LOT, **changes), today=TODAY)
    assert [problem.field for problem in caught.value.problems] == fields


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"litres": 700}, "More came out than went in"),
        ({"litres": 400}, "It shrank by 40 %"),
        ({"medium_ec": 2.0, "extraction": "1 : 5 by volume"}, "EC of the medium, mS/cm: 2 is"),
        ({"medium_ph": 3.9}, "pH of the medium: 3.9 is unusual"),
        ({"water_ph": 9.1}, "pH of the water"),
    ],
)
def test_what_is_unusual_is_said_and_kept(changes: dict[str, Any], says: str) -> None:
    kept = accepted_mix_lot(replace(LOT, **changes), today=TODAY)
    (remark,) = lot_remarks(kept)
    assert says in remark


def test_porosity_stands_with_its_container() -> None:
    # The worked example of the container method: 70, 15 and 55 %.
    measured = replace(
        LOT, container="9 cm pot", container_ml=380, saturation_ml=266, drained_ml=57
    )
    porosity = accepted_mix_lot(measured, today=TODAY).porosity
    assert porosity is not None
    assert porosity.total_share == pytest.approx(0.70)
    assert porosity.air_share == pytest.approx(0.15)
    assert LOT.porosity is None
