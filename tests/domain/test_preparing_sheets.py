"""What to have ready, against exact arithmetic and the figures of a published abstract."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.domain.containers import ContainerKind
from app.domain.hormones import Hormone
from app.domain.mixes import MixPart
from app.domain.preparing_sheets import (
    BatchToStick,
    ContainerMeasure,
    MixRecipe,
    PreparingSheet,
    fill_containers,
    prepare,
)

TRAY = ContainerMeasure(name="84-plug tray", kind=ContainerKind.TRAY, plugs=84, volume_ml=55)
OPEN = ContainerMeasure(name="seed tray", kind=ContainerKind.TRAY, volume_ml=4500)
POT = ContainerMeasure(name="9 cm pot", kind=ContainerKind.POT, volume_ml=400)
ROWS = ContainerMeasure(name="open ground", kind=ContainerKind.LINED_OUT)
THREE_PARTS = (
    MixPart(ingredient="bark", parts=3),
    MixPart(ingredient="perlite", parts=2),
    MixPart(ingredient="grit", parts=1),
)
MIX = MixRecipe(name="Frame mix", parts=THREE_PARTS, shrinkage_share=0.0)
TALC = Hormone(substance="IBA", form="talc", ppm=1000)
DIP = Hormone(substance="IBA", form="quick dip", ppm=2000)


def batch(cuttings: int = 576, **more: Any) -> BatchToStick:
    values: dict[str, Any] = {"plant": "Hebe 'Great Orme'", "container": TRAY, "mix": MIX} | more
    return BatchToStick(cuttings=cuttings, **values)


def sheet(*batches: BatchToStick, **more: Any) -> PreparingSheet:
    return prepare(batches, **({"room": {}} | more))


def test_trays_are_whole_ones_and_filled_whole() -> None:
    # 84 plugs of 55 ml hold 4.62 l (exact arithmetic); 576 cuttings stand in 7 trays, one of
    # them not full of cuttings but full of medium.
    filled = fill_containers(batch())
    assert filled is not None
    assert (filled.number, filled.words) == (7, "7 x 84-plug tray")
    assert filled.litres == pytest.approx(7 * 4.62)


@pytest.mark.parametrize(
    ("made", "number", "litres"),
    [
        (batch(84), 1, 4.62),
        (batch(85), 2, 9.24),
        (batch(168, per_place=2), 1, 4.62),
        (batch(169, per_place=2), 2, 9.24),
        (batch(30, container=POT), 30, 12.0),
        (batch(31, container=POT, per_place=5), 7, 2.8),
        (batch(210, container=OPEN, trays=3), 3, 13.5),
        (batch(500, trays=8), 8, 8 * 4.62),
    ],
)
def test_containers(made: BatchToStick, number: int, litres: float) -> None:
    filled = fill_containers(made)
    assert filled is not None
    assert filled.number == number
    assert filled.litres == pytest.approx(litres)


@pytest.mark.parametrize("container", [None, ROWS, OPEN])
def test_where_no_number_can_be_told_none_is(container: ContainerMeasure | None) -> None:
    assert fill_containers(batch(container=container)) is None


def test_a_mix_is_added_up_and_shared_out_by_parts() -> None:
    # 3:2:1 for 600 l gives 300, 200 and 100 l (exact arithmetic).
    made = sheet(batch(750, container=POT), batch(750, container=POT)).mixes
    assert [mix.name for mix in made] == ["Frame mix"]
    assert made[0].litres == pytest.approx(600)
    assert [each.litres for each in made[0].ingredients] == pytest.approx([300, 200, 100])


def test_shrinkage_settling_and_bags() -> None:
    # 10 % shrinkage: 666.667 l go in for 600 l. A potting reference of 80 % means that 100 l fill
    # 80 l of pots (Verhagen, ISHS Acta Horticulturae 1168, article 14): 480 l of pots need 600 l.
    shrinking = MixRecipe(name="Frame mix", parts=THREE_PARTS, shrinkage_share=0.1)
    whole = sheet(batch(1200, container=POT, mix=shrinking), potting_share=0.8, bag_litres=50.0)
    made = whole.mixes[0]
    assert made.litres == pytest.approx(600)
    assert [each.litres for each in made.ingredients] == pytest.approx(
        [333.333, 222.222, 111.111], abs=1e-3
    )
    assert [each.words for each in whole.ingredients] == [
        "333.3 l: 7 bags",
        "222.2 l: 5 bags",
        "111.1 l: 3 bags",
    ]


def test_bags_are_opened_once_for_all_mixes() -> None:
    # 10 l of grit in the one mix and 30 l in the other are one bag of 40 l, not two.
    other = MixRecipe(name="Grit", parts=(MixPart(ingredient="grit", parts=1),))
    made = sheet(batch(150, container=POT), batch(75, container=POT, mix=other), bag_litres=40.0)
    assert [each.words for each in made.ingredients] == [
        "30 l: 1 bag",
        "20 l: 1 bag",
        "40 l: 1 bag",
    ]
    assert sheet(batch(150, container=POT)).ingredients[0].words == "30 l"


def test_an_assumed_shrinkage_is_said() -> None:
    unmeasured = MixRecipe(name="Frame mix", parts=THREE_PARTS)
    made = sheet(batch(mix=unmeasured))
    assert made.mixes[0].assumed
    assert any("10 % is taken" in each.words for each in made.advisories)
    assert any("common practice, no source" in each.words for each in made.advisories)
    alone = MixRecipe(name="Perlite", parts=(MixPart(ingredient="perlite", parts=1),))
    assert sheet(batch(mix=alone)).advisories == ()


def test_each_hormone_once_with_its_cuttings() -> None:
    none = Hormone(substance="none")
    needs = sheet(
        batch(100, hormone=TALC), batch(60, hormone=DIP), batch(40, hormone=TALC),
        batch(9, hormone=none), batch(9),
    ).hormones  # fmt: skip
    assert [(need.hormone, need.cuttings) for need in needs] == [(TALC, 140), (DIP, 60)]
    assert [need.is_liquid for need in needs] == [False, True]
    assert not needs[1].is_soak


def test_benches_say_what_finds_no_room() -> None:
    made = sheet(
        batch(bench="Mist 1"), batch(84, bench="Mist 1"), batch(84, bench="Frame"),
        room={"Mist 1": 5, "Frame": None},
    )  # fmt: skip
    assert [(need.bench, need.trays, need.over) for need in made.benches] == [
        ("Mist 1", 8, 3),
        ("Frame", 1, 0),
    ]
    assert made.advisories[0].urgent
    assert made.advisories[0].words == (
        "Mist 1 (8 trays more, room for 5): clear or find room for 3."
    )


def test_what_is_missing_is_named() -> None:
    bare = ContainerMeasure(name="40-plug tray", kind=ContainerKind.TRAY, plugs=40)
    made = sheet(
        batch(container=None), batch(container=OPEN), batch(container=bare), batch(mix=None),
        batch(container=ROWS),
    )  # fmt: skip
    words = [each.words for each in made.advisories]
    assert len(words) == 4
    for said, sentence in zip(
        ("no container", "seed tray has no plugs", "volume of 40-plug tray", "no mix"),
        words,
        strict=True,
    ):
        assert said in sentence


def test_one_label_for_each_tray_else_for_each_batch() -> None:
    made = sheet(batch(), batch(30, container=POT), batch(10, container=None))
    assert made.labels == 7 + 1 + 1
    assert made.totals == (("84-plug tray", 7), ("9 cm pot", 30))
    assert made.cuttings == 616


@given(
    st.lists(st.tuples(st.integers(1, 5000), st.integers(1, 6)), min_size=1, max_size=8),
    st.floats(0.2, 1.0),
    st.floats(0.0, 0.5),
)
def test_ingredients_always_make_enough(
    wanted: list[tuple[int, int]], potting: float, shrinkage: float
) -> None:
    recipe = MixRecipe(name="Frame mix", parts=THREE_PARTS, shrinkage_share=shrinkage)
    made = sheet(
        *(batch(number, per_place=each, mix=recipe) for number, each in wanted),
        potting_share=potting,
    )
    fills = sum(filled.litres or 0.0 for filled in made.containers if filled)
    going_in = sum(each.litres for each in made.mixes[0].ingredients)
    assert going_in * (1 - shrinkage) * potting == pytest.approx(fills)
    places = sum(filled.number * 84 for filled in made.containers if filled)
    assert places >= sum(number / each for number, each in wanted)
