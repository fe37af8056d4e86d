"""A hormone is read from one line; acid and salt stay apart."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.domain.hormones import NO_HORMONE, Hormone, parse_hormone
from app.domain.problems import NotAccepted


@pytest.mark.parametrize(
    ("text", "substance", "form", "ppm"),
    [
        ("IBA talc 1000 ppm", "IBA", "talc", 1000),
        ("iba  quick dip 2,500", "IBA", "quick dip", 2500),
        ("K-IBA quick dip 1000ppm", "K-IBA", "quick dip", 1000),
        ("NAA", "NAA", "", None),
        ("IBA talc", "IBA", "talc", None),
        # 0.1 % = 1000 ppm, 0.8 % = 8000 ppm, 1.6 % = 16,000 ppm: own arithmetic, exact
        ("IBA talc 0.1 %", "IBA", "talc", 1000),
        ("IBA talc 0.8%", "IBA", "talc", 8000),
        ("IBA talc 1.6 %", "IBA", "talc", 16_000),
        ("IBA soak 50 mg/l", "IBA", "soak", 50),
        # a talc of 5 to 12 mg per g is 5000 to 12,000 ppm: Doran 1941, Mass. Agric. Expt. Sta.
        # Bull. 382 (CONFIRMED); mg/kg is ppm by mass
        ("IBA talc 5000 mg/kg", "IBA", "talc", 5000),
    ],
)
def test_a_line_is_read_in_its_parts(text: str, substance: str, form: str, ppm: int | None) -> None:
    assert parse_hormone(text) == Hormone(substance=substance, form=form, ppm=ppm)


@pytest.mark.parametrize("text", ["none", "None", "no hormone", "without"])
def test_none_is_a_statement(text: str) -> None:
    hormone = parse_hormone(text)
    assert hormone == Hormone(substance=NO_HORMONE)
    assert hormone.label == "no hormone"


def test_a_blank_is_not_recorded() -> None:
    assert parse_hormone("  ") is None


@pytest.mark.parametrize("text", ["1000 ppm", "IBA talc 200000", "IBA talc 11 %", "IBA 1.2.3"])
def test_what_cannot_be_is_refused(text: str) -> None:
    with pytest.raises(NotAccepted) as refused:
        parse_hormone(text, field="hormone_other")
    assert refused.value.problems[0].field == "hormone_other"


@given(
    substance=st.sampled_from(["IBA", "K-IBA", "NAA", "Own paste"[:3]]),
    form=st.sampled_from(["", "talc", "quick dip", "gel"]),
    ppm=st.none() | st.integers(0, 100_000),
)
def test_the_label_reads_back_to_the_same(substance: str, form: str, ppm: int | None) -> None:
    hormone = Hormone(substance=substance, form=form, ppm=ppm)
    assert parse_hormone(hormone.label) == hormone
