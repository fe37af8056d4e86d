"""Sheets of labels by their measures."""

import pytest

from app.domain.label_sheets import SHEETS, LabelSheet, own_sheet, parse_sheet, single_label
from app.domain.problems import NotAccepted


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
def test_every_sheet_fits_its_paper_and_is_found_by_its_name(sheet: LabelSheet) -> None:
    assert parse_sheet(sheet.name) is sheet
    assert parse_sheet(sheet.name.lower().replace(" x ", " × ")) is sheet
    last = sheet.place_mm(sheet.labels)
    for place in (0, 1):
        first = (sheet.left_mm, sheet.top_mm)[place]
        left_over = sheet.page_mm[place] - last[place] - sheet.label_mm[place]
        assert first >= 0
        # Sheets are cut alike on both sides (common practice, no source).
        assert left_over == pytest.approx(first, abs=0.01)


def test_papers_measure_what_the_standards_say() -> None:
    # A4: ISO 216, 210 x 297 mm. Letter: 8.5 x 11 inches of 25.4 mm (both from memory).
    pages = {sheet.name.partition(",")[0]: sheet.page_mm for sheet in SHEETS}
    assert pages["A4"] == (210, 297)
    assert pages["Letter"] == pytest.approx((8.5 * 25.4, 11 * 25.4))


def test_places_count_along_the_rows() -> None:
    sheet = parse_sheet("A4, 24 of 70 x 37")
    assert (sheet.across, sheet.down) == (3, 8)
    assert [sheet.place_mm(place) for place in (1, 2, 4)] == [(0, 0.5), (70, 0.5), (0, 37.5)]


def test_an_own_sheet_is_read_back_by_its_name() -> None:
    sheet = own_sheet(
        page_mm=(210, 297), grid=(2, 5), label_mm=(90, 50.5), start_mm=(12, 10),
        gaps_mm=(6, 3.5),
    )  # fmt: skip
    assert parse_sheet(sheet.name) == sheet
    assert sheet.place_mm(4) == (108, 64)


@pytest.mark.parametrize("typed", ["62 x 29", "62x29", "62 × 29 mm", "Roll, 62 x 29", "62,0 by 29"])
def test_an_own_size_is_a_single_label(typed: str) -> None:
    sheet = parse_sheet(typed)
    assert (sheet.page_mm, sheet.labels, sheet.is_roll) == ((62, 29), 1, True)
    assert sheet == single_label((62, 29))


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("A5", "Give the name of a sheet"),
        ("", "Give the name of a sheet"),
        ("20 x 10", "A label is at least 18 x 32 mm"),
        ("900 x 50", "at most 500"),
        ("210 x 297: 3 x 9 of 70 x 37, from 0 x 0", "would need 333 mm, but the page is 297 mm"),
        ("210 x 297: 4 x 8 of 70 x 37, from 0 x 0", "would need 280 mm, but the page is 210 mm"),
        ("210 x 297: 0 x 8 of 70 x 37, from 0 x 0", "Give 1 to 40 labels"),
    ],
)
def test_what_cannot_be_printed_is_refused(typed: str, sentence: str) -> None:
    with pytest.raises(NotAccepted, match=sentence):
        parse_sheet(typed)


def test_pages_count_from_the_first_free_place() -> None:
    sheet = parse_sheet("A4, 24 of 70 x 37")
    assert [sheet.pages(number) for number in (24, 25)] == [1, 2]
    assert [sheet.pages(24, start=2), sheet.pages(1, start=24)] == [2, 1]


def test_labels_at_the_rim_of_the_paper_keep_their_writing_off_it() -> None:
    edge, inside = parse_sheet("A4, 24 of 70 x 37"), parse_sheet("A4, 8 of 99.1 x 67.7")
    assert edge.pads_mm == (4.5, 4.0)
    assert inside.pads_mm == (2, 2)
    assert single_label((62, 29)).pads_mm == (1.5, 1.5)
