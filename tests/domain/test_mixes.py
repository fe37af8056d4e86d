"""Recipes: volumes by parts and with shrinkage, how they are typed, what is refused."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.domain.mix_lines import parse_parts, parts_lines
from app.domain.mixes import (
    MixEntry,
    MixPart,
    accepted_mix,
    ingredient_volumes,
    parse_litres,
    recipe_words,
)
from app.domain.problems import NotAccepted


def recipe(*pairs: tuple[str, float]) -> tuple[MixPart, ...]:
    return tuple(MixPart(ingredient=name, parts=parts) for name, parts in pairs)


THREE_TWO_ONE = recipe(("bark", 3), ("perlite", 2), ("loam", 1))


@pytest.mark.parametrize(
    ("parts", "litres", "shrinkage", "wanted"),
    [
        # Exact arithmetic: shares of a whole by parts.
        (THREE_TWO_ONE, 600, 0, [300, 200, 100]),
        (recipe(("a", 50), ("b", 30), ("c", 20)), 240, 0, [120, 72, 48]),
        # Exact arithmetic: 600 / 0.9 = 666.667 in all; 100 / 0.92 = 108.696 in all.
        (THREE_TWO_ONE, 600, 0.10, [333.333, 222.222, 111.111]),
        (recipe(("a", 1), ("b", 1)), 100, 0.08, [54.348, 54.348]),
    ],
)
def test_volumes_by_parts(
    parts: tuple[MixPart, ...], litres: float, shrinkage: float, wanted: list[float]
) -> None:
    volumes = ingredient_volumes(parts, litres=litres, shrinkage_share=shrinkage)
    assert [volume.litres for volume in volumes] == pytest.approx(wanted, abs=5e-4)


@given(
    parts=st.lists(st.floats(0.1, 100), min_size=1, max_size=8),
    litres=st.floats(1, 1e5),
    share=st.floats(0, 0.5),
)
def test_what_goes_in_shrinks_to_what_was_wanted(
    parts: list[float], litres: float, share: float
) -> None:
    volumes = ingredient_volumes(
        recipe(*((str(place), value) for place, value in enumerate(parts))),
        litres=litres,
        shrinkage_share=share,
    )
    assert sum(volume.litres for volume in volumes) * (1 - share) == pytest.approx(litres)


@pytest.mark.parametrize(
    "text",
    [
        "bark 3\nperlite 2\nloam 1",
        "3 bark\n2 parts perlite\n1 part of loam",
        "bark, 3\nperlite: 2\nloam = 1",
        "bark 3; perlite 2; loam 1",
        "  Bark   3 \n\n perlite\t2\nloam 1,0",
    ],
)
def test_lines_are_read_however_they_are_typed(text: str) -> None:
    read = parse_parts(text)
    assert [(part.ingredient.lower(), part.parts) for part in read] == [
        ("bark", 3),
        ("perlite", 2),
        ("loam", 1),
    ]


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("equal parts perlite and compost", [("perlite", 1), ("compost", 1)]),
        ("Equal parts of bark, sand and loam", [("bark", 1), ("sand", 1), ("loam", 1)]),
        ("perlite and compost, equal parts", [("perlite", 1), ("compost", 1)]),
        ("bark 3-10 mm, 2\nsand 1/2", [("bark 3-10 mm", 2), ("sand", 0.5)]),
        ("1,5 bark\nsand 0.5", [("bark", 1.5), ("sand", 0.5)]),
        (
            "peat 50 %\nperlite 30%\nbark: 20.4 per cent",
            [("peat", 50), ("perlite", 30), ("bark", 20.4)],
        ),
    ],
)
def test_other_ways_of_typing(text: str, wanted: list[tuple[str, float]]) -> None:
    assert [(part.ingredient, part.parts) for part in parse_parts(text)] == wanted


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("bark", "No number of parts"),
        ("bark 3-10 mm", "No number of parts"),
        ("bark 3\nperlite 50 %", "all of them in per cent"),
        # Percentages must total 100, within half a per cent.
        ("bark 50 %\nperlite 30 %", "come to 80"),
        ("bark 50 %\nperlite 50.6 %", "come to 100.6"),
        ("bark 1/0", "no number of parts"),
    ],
)
def test_lines_that_cannot_be_read_say_why(text: str, said: str) -> None:
    with pytest.raises(NotAccepted, match=said) as refused:
        parse_parts(text)
    assert refused.value.problems[0].field == "parts"


@given(
    st.lists(
        st.tuples(
            st.from_regex(r"[a-z]{2,9}( [a-z]{2,9})?", fullmatch=True).filter(
                lambda name: "parts" not in name and "and" not in name.split()
            ),
            st.integers(1, 200).map(lambda quarters: quarters / 4),
        ),
        min_size=1,
        max_size=6,
    )
)
def test_lines_written_back_are_read_alike(pairs: list[tuple[str, float]]) -> None:
    parts = recipe(*pairs)
    assert parse_parts(parts_lines(parts)) == parts


@pytest.mark.parametrize(
    ("parts", "words"),
    [
        (recipe(("perlite", 1), ("compost", 1)), "equal parts perlite and compost"),
        (recipe(("a", 2), ("b", 2), ("c", 2)), "equal parts a, b and c"),
        (THREE_TWO_ONE, "3 parts bark, 2 parts perlite and 1 part loam"),
        (recipe(("peat", 70), ("sand", 30)), "70 % peat and 30 % sand"),
        (recipe(("perlite", 4)), "perlite alone"),
        ((), "recipe not recorded"),
    ],
)
def test_a_recipe_in_words(parts: tuple[MixPart, ...], words: str) -> None:
    assert recipe_words(parts) == words


def test_an_entry_is_tidied() -> None:
    entry = accepted_mix(
        MixEntry(name="  Frame  mix ", parts=recipe((" coarse  sand ", 1)), notes=" wet first \n")
    )
    assert (entry.name, entry.parts[0].ingredient, entry.notes) == (
        "Frame mix",
        "coarse sand",
        "wet first",
    )


@pytest.mark.parametrize(
    ("entry", "field"),
    [
        (MixEntry(name=" ", parts=THREE_TWO_ONE), "name"),
        (MixEntry(name="x" * 81, parts=THREE_TWO_ONE), "name"),
        (MixEntry(name="A", parts=()), "parts"),
        (MixEntry(name="A", parts=recipe(("bark", 0))), "parts"),
        (MixEntry(name="A", parts=recipe(("bark", 1001))), "parts"),
        (MixEntry(name="A", parts=recipe(("Bark", 1), ("bark", 2))), "parts"),
        (MixEntry(name="A", parts=recipe((" ", 1))), "parts"),
        (MixEntry(name="A", parts=THREE_TWO_ONE, shrinkage_share=0.51), "shrinkage"),
        (MixEntry(name="A", parts=THREE_TWO_ONE, shrinkage_share=-0.01), "shrinkage"),
    ],
)
def test_what_no_mix_can_be(entry: MixEntry, field: str) -> None:
    with pytest.raises(NotAccepted) as refused:
        accepted_mix(entry)
    assert [problem.field for problem in refused.value.problems] == [field]


def test_litres_wanted() -> None:
    assert parse_litres("1,200") == 1200
    assert parse_litres("") is None
    for wrong in ("0", "-5", "much", "2000000"):
        with pytest.raises(NotAccepted):
            parse_litres(wrong)
