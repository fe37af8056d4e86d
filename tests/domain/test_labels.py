"""Which labels are printed, and the address in their codes."""

import pytest

from app.domain.label_codes import read_codes
from app.domain.labels import LabelText, accepted_address, labels_of
from app.domain.plant_name_parts import NamePiece
from app.domain.problems import NotAccepted

BASE = "http://192.168.1.20:8321"


def text(code: str, trays: int | None = None) -> LabelText:
    return LabelText(code=code, name=(NamePiece(text="Hebe"),), trays=trays)


def test_one_each_or_one_for_each_tray() -> None:
    texts = [text("26-0001", 3), text("26-0002")]
    assert [label.part for label in labels_of(texts, base=BASE)] == ["", ""]
    trays = labels_of(texts, base=BASE, each=2, per_tray=True)
    assert [label.part for label in trays] == ["1 of 3", "2 of 3", "3 of 3", "", ""]
    assert {label.address for label in trays} == {f"{BASE}/to/26-0001", f"{BASE}/to/26-0002"}


def test_none_and_too_many_are_refused() -> None:
    with pytest.raises(NotAccepted, match="at least one code"):
        labels_of([], base=BASE)
    with pytest.raises(NotAccepted, match="3,001 labels"):
        labels_of([text("26-0001")], base=BASE, each=3001)


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("http://192.168.1.20:8321/", BASE),
        ("192.168.1.20:8321", BASE),
        (" HTTPS://Potting-Shed.local ", "https://potting-shed.local"),
    ],
)
def test_addresses_are_kept_as_they_are_scanned(typed: str, kept: str) -> None:
    assert accepted_address(typed) == kept


@pytest.mark.parametrize(
    "typed",
    ["", "http://", "ftp://here", "here/there", "hier und da", "http://ä", "a..b", "a" * 60],
)
def test_what_is_no_address_is_refused(typed: str) -> None:
    with pytest.raises(NotAccepted):
        accepted_address(typed)


def canonical(typed: str) -> str:
    year, _, number = typed.partition("-")
    return f"{year}-{int(number):04d}" if year.isdigit() and number.isdigit() else ""


@pytest.mark.parametrize(
    ("typed", "codes"),
    [
        ("26-1", ["26-0001"]),
        ("26-1, 26-3\n26-2;26-1", ["26-0001", "26-0003", "26-0002"]),
        ("26-1 26-2", ["26-0001", "26-0002"]),
        ("26-8 to 26-11", ["26-0008", "26-0009", "26-0010", "26-0011"]),
        ("26-8..26-9", ["26-0008", "26-0009"]),
        ("26-9999 to 26-10000", ["26-9999", "26-10000"]),
        (" , ", []),
    ],
)
def test_codes_are_read_one_by_one_and_in_rows(typed: str, codes: list[str]) -> None:
    assert [wanted.code for wanted in read_codes(typed, canonical=canonical)] == codes


@pytest.mark.parametrize(
    "typed",
    ["Hebe", "26-1 Hebe", "26-9 to 26-8", "25-1 to 26-9", "26-1 to 26-9000", "to", "26-1 to"],
)
def test_codes_that_are_none_are_named(typed: str) -> None:
    with pytest.raises(NotAccepted):
        read_codes(typed, canonical=canonical)


def test_names_with_spaces_stay_whole() -> None:
    read = read_codes("Mist bench 2, Cold frame", canonical=lambda typed: typed, spaced=True)
    assert [wanted.code for wanted in read] == ["Mist bench 2", "Cold frame"]
