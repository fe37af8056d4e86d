"""Plant passports against the elements that the texts ask for, side by side for the EU and GB.

Source: Regulation (EU) 2016/2031, Annex VII Part A as adopted, and as retained and amended in Great
Britain; Implementing Regulation (EU) 2017/2313, Article 2. The table in tests/data says beside each
element what was confirmed and what is from memory.
"""

import csv
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from app.domain.plant_passports import (
    AUTHORITY,
    PassportContent,
    PassportEntry,
    PassportSettings,
    Territory,
    accepted_passport,
    accepted_settings,
    kept_until,
    passport_content,
    usual_origin,
)
from app.domain.problems import NotAccepted

GB = PassportSettings(territory=Territory.GB, operator_number="12345")
EU = PassportSettings(
    territory=Territory.EU, operator_number="0815", member_state="FR", own_title="Passeport"
)
ENTRY = PassportEntry(
    plant="Hebe 'Great Orme'", traceability_code="26-0147", origin="GB", plants=120
)


def elements() -> dict[str, dict[str, str]]:
    path = Path(__file__).parents[1] / "data" / "plant_passport_fields.csv"
    lines = [line for line in path.read_text().splitlines() if not line.startswith("#")]
    return {row["element"]: row for row in csv.DictReader(lines)}


def content(settings: PassportSettings, **more: object) -> PassportContent:
    entry = accepted_passport(replace(ENTRY, **more), settings=settings)  # type: ignore[arg-type]
    return passport_content(entry, settings=settings)


def test_the_title_is_as_the_texts_say() -> None:
    row = elements()["title"]
    assert f'words "{content(GB).title}"' in row["gb"]
    assert "in an official language and in English if different, separated by a slash" in row["eu"]
    assert content(EU).title == "Passeport / Plant Passport"
    assert content(replace(EU, own_title="")).title == "Plant Passport"


def test_the_flag_of_the_union_stands_on_those_of_the_eu_alone() -> None:
    row = elements()["flag"]
    assert (content(EU).has_flag, content(GB).has_flag) == (True, False)
    assert row["gb"] == "omitted"
    assert row["eu"].startswith("flag of the Union")


def test_the_letters_of_great_britain() -> None:
    assert content(GB).elements == (
        ("A", "Hebe 'Great Orme'"),
        ("B", "12345"),
        ("C", "26-0147"),
        ("D", "GB"),
    )
    row = elements()
    assert "no country code" in row["B."]["gb"]
    assert '"GB(NI)"' in row["E."]["gb"]
    assert content(GB, northern_ireland=True).elements[-1] == ("E", "GB(NI)")


def test_the_letters_of_the_eu() -> None:
    row = elements()
    assert "two-letter code of the Member State, hyphen, registration number" in row["B."]["eu"]
    assert row["E."]["eu"] == "not used"
    found = content(EU, origin="FR", northern_ireland=True)
    assert found.elements[1:] == (("B", "FR-0815"), ("C", "26-0147"), ("D", "FR"))


def test_the_traceability_code_is_left_out_only_with_a_reason() -> None:
    assert "not required for plants for planting ready for sale" in elements()["C."]["eu"]
    with pytest.raises(NotAccepted) as refused:
        content(GB, traceability_code="  ")
    assert refused.value.problems[0].field == "traceability_code"
    found = content(GB, traceability_code="", blank_reason="ready for sale to final users")
    assert [letter for letter, _ in found.elements] == ["A", "B", "D"]


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"plant": " "}, "plant"),
        ({"origin": "G"}, "origin"),
        ({"origin": "G1"}, "origin"),
        ({"plants": 0}, "plants"),
        ({"labels": 0}, "labels"),
        ({"labels": 10_001}, "labels"),
        ({"note": "x" * 121}, "note"),
    ],
)
def test_what_cannot_be_is_refused_by_its_field(more: dict[str, object], field: str) -> None:
    with pytest.raises(NotAccepted) as refused:
        content(GB, **more)
    assert [problem.field for problem in refused.value.problems] == [field]


@pytest.mark.parametrize("origin", ["GB", "FR, DE", "New Zealand", "Côte d'Ivoire"])
def test_an_origin_is_a_code_or_a_country(origin: str) -> None:
    assert content(GB, origin=origin).d == origin


def test_they_are_off_until_there_is_an_operator_number() -> None:
    off = PassportSettings()
    assert not off.on
    with pytest.raises(NotAccepted, match="Passports are off"):
        accepted_passport(ENTRY, settings=off)
    assert accepted_settings(replace(EU, operator_number=" ")).operator_number == ""


def test_settings_are_tidied_and_refused_by_their_field() -> None:
    found = accepted_settings(replace(EU, member_state=" fr ", operator_number=" 08  15 "))
    assert (found.member_state, found.operator_number) == ("FR", "08 15")
    # What is of the EU alone does not linger where other rules were chosen.
    assert accepted_settings(replace(EU, territory=Territory.GB)).own_title == ""
    for wrong, field in (
        (replace(EU, member_state="F"), "member_state"),
        (replace(GB, operator_number="*"), "operator_number"),
        (replace(EU, own_title="x" * 121), "own_title"),
    ):
        with pytest.raises(NotAccepted) as refused:
            accepted_settings(wrong)
        assert refused.value.problems[0].field == field
    assert (usual_origin(EU), usual_origin(GB)) == ("FR", "GB")


def test_they_are_kept_for_three_years() -> None:
    # Art. 95(3): at least three years, confirmed in the text for Great Britain.
    assert kept_until(date(2026, 11, 25)) == date(2029, 11, 25)
    assert kept_until(date(2024, 2, 29)) == date(2027, 3, 1)


def test_the_authority_decides() -> None:
    assert "plant-health authority decides" in AUTHORITY
