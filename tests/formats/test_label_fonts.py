"""The typeface of labels lies in the program and has the letters that names need."""

from importlib.resources import files

from app.formats.label_fonts import FONTS, drawable


def test_the_typeface_and_its_licence_are_part_of_the_program() -> None:
    folder = files("app").joinpath("formats", "fonts")
    names = {each.name for each in folder.iterdir()}
    assert {
        "OFL.txt",
        *(f"atkinson-next-{face}.ttf" for face in ("regular", "italic", "bold")),
    } == (names)
    assert "SIL OPEN FONT LICENSE" in (FONTS / "OFL.txt").read_text(encoding="utf-8").upper()


def test_letters_of_plant_names_are_drawn_as_they_are() -> None:
    text = "× ‘Kőszeg’ Šárka Ærø Łódź Gül ñ ç ß · …"
    assert drawable(text) == text


def test_letters_the_typeface_has_not_leave_no_gap() -> None:
    assert drawable("Ж") == "?"
    assert drawable("ǹ") in {"ǹ", "n"}
    assert drawable("a\tb") == "a b"
