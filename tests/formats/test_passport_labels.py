"""Labels of plant passports: every word stands inside its border, in its corner, on every sheet.

Layout: Implementing Regulation (EU) 2017/2313, Article 2; corners of title and flag: Regulation
(EU) 2016/2031, Annex VII Part A (confirmed in public copies of both).
"""

import numpy as np
import pypdfium2
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.domain.label_sheets import SHEETS, LabelSheet, single_label
from app.domain.plant_passports import PassportContent, Territory
from app.domain.problems import NotAccepted
from app.formats.passport_labels import BORDER_MM, SMALLEST_PT, write_passport_labels
from tests.formats.label_pages import dark_box_mm, pictures

GB = PassportContent(
    territory=Territory.GB,
    title="UK Plant Passport",
    a="Chamaecyparis lawsoniana 'Wissel's Saguaro'",
    b="12345",
    c="26-0147",
    d="GB",
    e="GB(NI)",
)
EU = PassportContent(
    territory=Territory.EU,
    title="Passeport phytosanitaire / Plant Passport",
    a="Hebe 'Great Orme'",
    b="FR-0815",
    c="26-0147",
    d="FR",
)
ROOMY = single_label((90.0, 50.0))
MM = 72 / 25.4


def words_of(pdf: bytes, *, page: int = 0) -> list[tuple[str, float, float, float, float]]:
    """Return each run of text with left, bottom, right and top in mm."""
    document = pypdfium2.PdfDocument(pdf)
    try:
        text = document[page].get_textpage()
        found = []
        for place in range(text.count_rects()):
            box = text.get_rect(place)
            said = text.get_text_bounded(*box).strip()
            found.append((said, *(edge / MM for edge in box)))
        text.close()
        return found
    finally:
        document.close()


def test_every_element_is_printed_with_its_letter() -> None:
    pdf = write_passport_labels(GB, number=1, sheet=ROOMY)
    said = " ".join(words for words, *_ in words_of(pdf))
    for part in ("UK Plant Passport", "A.", "B.", "12345", "C.", "26-0147", "D.", "E.", "GB(NI)"):
        assert part in said
    assert "Wissel's Saguaro" in said


def test_the_title_stands_in_the_upper_right_hand_corner() -> None:
    for content in (GB, EU):
        found = words_of(write_passport_labels(content, number=1, sheet=ROOMY))
        title = [box for words, *box in found if "Passport" in words][-1]
        highest = max(top for _, _, _, _, top in found)
        assert title[3] == pytest.approx(highest, abs=0.5)
        assert title[2] == pytest.approx(ROOMY.label_mm[0], abs=3.0)


def test_the_flag_stands_in_the_upper_left_hand_corner_on_those_of_the_eu_alone() -> None:
    for content, flagged in ((EU, True), (GB, False)):
        picture = pictures(write_passport_labels(content, number=1, sheet=ROOMY), dpi=600)[0]
        dot = picture.width / ROOMY.label_mm[0]
        corner = picture.crop((int(1.6 * dot), int(1.6 * dot), int(7.5 * dot), int(6.2 * dot)))
        assert bool((np.asarray(corner) < 128).any()) is flagged


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
def test_it_stands_inside_its_border_on_every_sheet_or_is_refused(sheet: LabelSheet) -> None:
    try:
        pdf = write_passport_labels(GB, number=sheet.labels, sheet=sheet)
    except NotAccepted as refusal:
        assert refusal.problems[0].field == "sheet"
        assert min(sheet.label_mm) < 26
        return
    (picture,) = pictures(pdf, dpi=300)
    left, top = sheet.place_mm(1)
    last_left, last_top = sheet.place_mm(sheet.labels)
    width, height = sheet.label_mm
    box = dark_box_mm(picture, dpi=300)
    border = (left, top, last_left + width, last_top + height)
    inset = (BORDER_MM, BORDER_MM, -BORDER_MM, -BORDER_MM)
    for found, edge, by in zip(box, border, inset, strict=True):
        assert found == pytest.approx(edge + by, abs=0.3)


def test_labels_begin_at_the_place_asked_for_and_go_on_over_pages() -> None:
    sheet = SHEETS[0]
    pdf = write_passport_labels(EU, number=sheet.labels, sheet=sheet, start=2)
    pages = pictures(pdf, dpi=150)
    assert len(pages) == 2
    left, top = sheet.place_mm(1)
    box = dark_box_mm(pages[1], dpi=150)
    assert box[:2] == pytest.approx((left + BORDER_MM, top + BORDER_MM), abs=0.35)
    with pytest.raises(NotAccepted) as refused:
        write_passport_labels(EU, number=1, sheet=sheet, start=sheet.labels + 1)
    assert refused.value.problems[0].field == "start"


def test_the_same_passport_gives_the_same_bytes() -> None:
    assert write_passport_labels(EU, number=3, sheet=ROOMY) == write_passport_labels(
        EU, number=3, sheet=ROOMY
    )


def test_what_cannot_be_read_is_refused_not_printed_smaller() -> None:
    assert SMALLEST_PT == 6.0
    with pytest.raises(NotAccepted, match="do not stand legibly") as refused:
        write_passport_labels(GB, number=1, sheet=single_label((40.0, 14.0)))
    assert refused.value.problems[0].field == "sheet"


@settings(max_examples=30, deadline=None)
@given(name=st.text(min_size=1, max_size=120).filter(str.strip))
def test_no_name_leaves_its_border(name: str) -> None:
    content = PassportContent(
        territory=Territory.GB, title="UK Plant Passport", a=name, b="1", c="26-0001", d="GB"
    )
    try:
        pdf = write_passport_labels(content, number=1, sheet=ROOMY)
    except NotAccepted:
        return
    for _, left, bottom, right, top in words_of(pdf):
        assert BORDER_MM <= left <= right <= ROOMY.label_mm[0] - BORDER_MM
        assert BORDER_MM <= bottom <= top <= ROOMY.label_mm[1] - BORDER_MM
