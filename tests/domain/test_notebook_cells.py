from datetime import date

import pytest

from app.domain.cutting_types import Cut, CuttingType
from app.domain.hormones import Hormone
from app.domain.notebook_cells import (
    read_cover,
    read_cut,
    read_cutting_type,
    read_day,
    read_degrees,
    read_ending,
    read_hormone,
    read_kind,
    read_name,
    read_names,
    read_note,
    read_number,
)
from app.domain.outcomes import CheckKind, Ending
from app.domain.problems import NotAccepted

TODAY = date(2026, 11, 25)


@pytest.mark.parametrize(
    "text", ["2026-05-03", "3/5/2026", "03.05.2026", "3-5-26", "3 May 2026", "3 may 26", "2026-5-3"]
)
def test_days_are_iso_or_day_first(text: str) -> None:
    assert read_day(text, column="stuck_on", today=TODAY) == date(2026, 5, 3)


@pytest.mark.parametrize(
    "text", ["3/5", "3 may", "-3", "today", "May 2026", "5/13/2026", "2026-02-30", "soon", "2026"]
)
def test_days_without_their_year_or_in_another_order_are_refused(text: str) -> None:
    with pytest.raises(NotAccepted, match="no day with its year") as refused:
        read_day(text, column="stuck_on", today=TODAY)
    assert refused.value.problems[0].field == "stuck_on"


@pytest.mark.parametrize("text", ["2026-11-26", "26/11/2026"])
def test_days_to_come_are_refused(text: str) -> None:
    with pytest.raises(NotAccepted, match="still to come"):
        read_day(text, column="stuck_on", today=TODAY)


def test_days_long_gone_are_refused() -> None:
    with pytest.raises(NotAccepted, match="from 1950 on"):
        read_day("1899-12-31", column="stuck_on", today=TODAY)


@pytest.mark.parametrize(
    ("text", "number"), [("240", 240), ("240.0", 240), ("1,020", 1020), ("0", 0)]
)
def test_numbers_as_people_and_spreadsheets_write_them(text: str, number: int) -> None:
    assert read_number(text, column="stuck") == number


@pytest.mark.parametrize("text", ["12.5", "-3", "about 20", "3 x 84", "2000000", "1e3"])
def test_other_numbers_are_refused_with_what_to_put(text: str) -> None:
    with pytest.raises(NotAccepted, match="Put ") as refused:
        read_number(text, column="stuck")
    assert refused.value.problems[0].field == "stuck"


def test_trays_are_told_as_a_number() -> None:
    with pytest.raises(NotAccepted, match="576"):
        read_number("7 trays of 84 less 12", column="stuck")


def test_temperatures() -> None:
    assert read_degrees("21", column="bottom_heat_c") == 21
    assert read_degrees("21,5 °C", column="bottom_heat_c") == 21.5
    with pytest.raises(NotAccepted, match="no temperature"):
        read_degrees("warm", column="bottom_heat_c")


def test_words_are_taken_in_any_case_and_with_or_without_hyphen() -> None:
    assert read_cutting_type("Semi ripe") is CuttingType.SEMI_RIPE
    assert read_cutting_type("root cuttings") is CuttingType.ROOT
    assert read_cut("Heel") is Cut.HEEL
    assert read_kind("") is CheckKind.COUNTED
    assert read_kind("Looked only") is CheckKind.LOOKED_ONLY
    assert read_ending("Cleared unrooted") is Ending.CLEARED_UNROOTED
    assert read_cover("Mist") == "mist"
    assert read_cover("Tunnel B") == "Tunnel B"


def test_other_words_are_refused_with_the_list() -> None:
    with pytest.raises(NotAccepted, match="softwood, greenwood"):
        read_cutting_type("halfripe")
    with pytest.raises(NotAccepted, match="counted, sample, looked only"):
        read_kind("guessed")
    with pytest.raises(NotAccepted, match="dumped, cleared unrooted"):
        read_ending("thrown")


def test_several_stock_plants_in_one_cell() -> None:
    assert read_names("S-0031 + S-0032;S-0031", column="stock_plant") == ("S-0031", "S-0032")


def test_long_texts_are_refused() -> None:
    with pytest.raises(NotAccepted, match="at most 80"):
        read_name("x" * 81, column="bench")
    with pytest.raises(NotAccepted, match="within 2,000"):
        read_note("x" * 2001, longest=2000)


def test_hormone_of_three_columns_or_of_one() -> None:
    iba = Hormone(substance="IBA", form="talc", ppm=1000)
    assert read_hormone("IBA", form="talc", ppm="1000") == iba
    assert read_hormone("iba talc 1000 ppm", form="", ppm="") == iba
    assert read_hormone("iba talc 1000 ppm", form="talc", ppm="1000") == iba
    assert read_hormone("None", form="", ppm="") == Hormone(substance="none")
    assert read_hormone("none", form="", ppm="0") == Hormone(substance="none")
    assert read_hormone("", form="", ppm="") is None


@pytest.mark.parametrize(
    ("texts", "field"),
    [
        (("", "talc", ""), "hormone"),
        (("", "", "1000"), "hormone"),
        (("none", "talc", ""), "hormone_form"),
        (("none", "", "1000"), "hormone_ppm"),
        (("IBA talc", "gel", ""), "hormone_form"),
        (("IBA 1000 ppm", "", "3000"), "hormone_ppm"),
        (("IBA", "", "strong"), "hormone_ppm"),
    ],
)
def test_hormone_columns_that_contradict(texts: tuple[str, str, str], field: str) -> None:
    with pytest.raises(NotAccepted) as refused:
        read_hormone(texts[0], form=texts[1], ppm=texts[2])
    assert refused.value.problems[0].field == field
