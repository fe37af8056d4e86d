"""Labels read back from their PDF, rasterised as a printer would.

The reader is zxing-cpp, which shares no code with what writes. Facts of QR codes (ISO/IEC 18004:
side 17 + 4 x version modules, 4 modules of white around) are from memory of the standard.
"""

import os
import subprocess
import sys

import pypdfium2
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.domain.label_sheets import SHEETS, LabelSheet, single_label
from app.domain.labels import Label, LabelText, labels_of
from app.domain.plant_name_parts import NamePiece
from app.domain.plant_names import kept_plant_name
from app.domain.problems import NotAccepted
from app.formats.label_fitting import SMALLEST_PT, Face, Run
from app.formats.label_fonts import width_of
from app.formats.labels import (
    QUIET_MODULES,
    SMALLEST_MODULE_MM,
    fitted_blocks,
    qr_box,
    qr_code,
    write_labels,
)
from tests.formats.label_pages import MM_PER_INCH, dark_box_mm, pictures, scanned

BASE = "http://192.168.178.120:8321"
PLANTS = (
    "Hebe 'Great Orme'",
    "Chamaecyparis lawsoniana 'Wissel's Saguaro'",
    "Rosa × damascena",
    "Lavandula angustifolia 'Hidcote'",
)
DPI = 150.0
FINE_DPI = 400.0


def texts(number: int) -> list[LabelText]:
    return [
        LabelText(
            code=f"26-{place:04d}",
            name=kept_plant_name(PLANTS[place % len(PLANTS)]).pieces,
            said="stuck 24 Nov 2026",
            trays=2,
        )
        for place in range(1, number + 1)
    ]


def labels(number: int) -> tuple[Label, ...]:
    return labels_of(texts(number), base=BASE)


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
def test_every_code_of_every_sheet_is_read_at_150_dpi_where_it_belongs(sheet: LabelSheet) -> None:
    wanted = labels(sheet.labels)
    (page,) = pictures(write_labels(wanted, sheet=sheet), dpi=DPI)
    read = {each.text: each.middle_mm for each in scanned(page, dpi=DPI)}
    assert set(read) == {label.address for label in wanted}
    for position, label in enumerate(wanted, start=1):
        modules = len(qr_code(label.address).matrix) + 2 * QUIET_MODULES
        box = qr_box(sheet, modules=modules, address=label.address)
        left, top = sheet.place_mm(position)
        x, y = read[label.address]
        # A reader says whole pixels of 0.17 mm.
        assert abs(x - (left + box.left + box.width / 2)) < 0.3
        assert abs(y - (top + box.top + box.height / 2)) < 0.3


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
def test_codes_stand_within_a_fifth_of_a_millimetre(sheet: LabelSheet) -> None:
    wanted = labels(sheet.labels)
    (page,) = pictures(write_labels(wanted, sheet=sheet), dpi=FINE_DPI)
    for position in {1, sheet.across, sheet.labels}:
        label = wanted[position - 1]
        matrix = qr_code(label.address).matrix
        box = qr_box(sheet, modules=len(matrix) + 2 * QUIET_MODULES, address=label.address)
        left, top = sheet.place_mm(position)
        white = QUIET_MODULES * box.width / (len(matrix) + 2 * QUIET_MODULES)
        part = (
            left + box.left,
            top + box.top,
            left + box.left + box.width,
            top + box.top + box.height,
        )
        crop = page.crop(tuple(round(edge * FINE_DPI / MM_PER_INCH) for edge in part))
        dark = dark_box_mm(crop, dpi=FINE_DPI)
        expected = (white, white, box.width - white, box.height - white)
        assert all(abs(a - b) < 0.2 for a, b in zip(dark, expected, strict=True)), (dark, expected)


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
def test_nothing_is_printed_outside_a_label_and_its_margin(sheet: LabelSheet) -> None:
    pad_x, pad_y = sheet.pads_mm
    for position in {1, sheet.labels}:
        (page,) = pictures(write_labels(labels(1), sheet=sheet, start=position), dpi=300)
        left, top = sheet.place_mm(position)
        width, height = sheet.label_mm
        dark = dark_box_mm(page, dpi=300)
        assert dark[0] >= left + pad_x - 0.2
        assert dark[1] >= top + pad_y - 0.2
        assert dark[2] <= left + width - pad_x + 0.2
        assert dark[3] <= top + height - pad_y + 0.2


def test_a_used_sheet_is_begun_at_its_first_free_place() -> None:
    sheet = SHEETS[0]
    pages = pictures(write_labels(labels(4), sheet=sheet, start=22), dpi=DPI)
    assert [len(scanned(page, dpi=DPI)) for page in pages] == [3, 1]
    for start in (0, 25):
        with pytest.raises(NotAccepted, match="from 1 to 24"):
            write_labels(labels(1), sheet=sheet, start=start)
    with pytest.raises(NotAccepted, match="starts at 1"):
        write_labels(labels(1), sheet=single_label((62, 29)), start=2)


def test_name_code_day_and_tray_can_be_read_from_the_file() -> None:
    wanted = labels_of(texts(1), base=BASE, per_tray=True)
    document = pypdfium2.PdfDocument(write_labels(wanted, sheet=single_label((100, 50))))
    said = [page.get_textpage().get_text_range() for page in document]
    assert len(said) == 2
    for place, words in enumerate(said, start=1):
        flat = " ".join(words.split())
        for part in ("Chamaecyparis", "lawsoniana", "‘Wissel’s", "26-0001", "stuck 24 Nov 2026"):
            assert part in flat
        assert f"{place} of 2" in flat
    faces = {
        run.text: run.face
        for line in fitted_blocks(wanted[0], width_pt=200, height_pt=100)[0].lines
        for run in line
    }
    assert faces["Chamaecyparis"] is Face.ITALIC
    assert all(face is Face.UPRIGHT for text, face in faces.items() if "Wissel" in text)


def test_the_same_labels_give_the_same_bytes_in_another_run_too() -> None:
    code = (
        "import hashlib, sys; from app.domain.label_sheets import SHEETS;"
        "from app.formats.labels import write_labels; from tests.formats.test_labels import labels;"
        "print(hashlib.sha256(write_labels(labels(30), sheet=SHEETS[7])).hexdigest())"
    )
    answers = {
        subprocess.run(
            [sys.executable, "-c", code],
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(answers) == 1
    assert write_labels(labels(9), sheet=SHEETS[0]) == write_labels(labels(9), sheet=SHEETS[0])


def test_codes_are_as_the_standard_says() -> None:
    for text in ("http://a/to/26-0001", f"{BASE}/to/26-0001", "x" * 60 + "/to/26-10000"):
        code = qr_code(text)
        assert len(code.matrix) == 17 + 4 * int(code.version)
        assert code.error in {"M", "Q", "H"}
        assert not code.is_micro
        text.encode("ascii")


def test_labels_of_one_record_share_the_drawing_of_their_code() -> None:
    one = [LabelText(code="26-0001", name=(NamePiece(text="Hebe"),))]
    many = write_labels(labels_of(one, base=BASE, each=200), sheet=SHEETS[7])
    assert len(many) < len(write_labels(labels(200), sheet=SHEETS[7])) / 2
    assert sum(len(scanned(page, dpi=DPI)) for page in pictures(many, dpi=DPI)) == 200


def test_a_thousand_say_how_far_they_are() -> None:
    told: list[int] = []
    wanted = labels(1000)
    write_labels(wanted, sheet=SHEETS[0], told=told.append)
    assert told == list(range(1, 1001))


def test_an_address_too_long_for_the_label_is_refused() -> None:
    long = labels_of(texts(1), base=f"http://{'a' * 53}")
    with pytest.raises(NotAccepted, match="choose a larger label"):
        write_labels(long, sheet=single_label((32, 18)))
    assert write_labels(long, sheet=SHEETS[0])


_LETTERS = st.text(
    st.characters(codec="utf-8", exclude_categories=("Cs", "Cc")), min_size=1, max_size=120
)
_PIECES = st.lists(st.builds(NamePiece, text=_LETTERS, italic=st.booleans()), max_size=4)


@settings(max_examples=150, deadline=None)
@given(
    pieces=_PIECES,
    said=st.text(max_size=60),
    size=st.tuples(st.floats(18, 120), st.floats(32, 120)),
    turned=st.booleans(),
)
def test_no_name_ever_leaves_its_box(
    pieces: list[NamePiece], said: str, size: tuple[float, float], turned: bool
) -> None:
    # Widths are added up letter by letter here, heights line by line.
    sheet = single_label(size if turned else size[::-1])
    label = Label(
        text=LabelText(code="26-10000", name=tuple(pieces), said=said),
        address=f"{BASE}/to/26-10000",
        part="12 of 70",
    )
    room_w = (max(size) - 3) * 0.4 * 72 / MM_PER_INCH
    room_h = (min(sheet.label_mm) - 3) * 72 / MM_PER_INCH
    blocks = fitted_blocks(label, width_pt=room_w, height_pt=room_h)
    assert sum(block.height_pt for block in blocks) <= room_h + 0.1
    for block in blocks:
        assert block.size_pt >= SMALLEST_PT
        for line in block.lines:
            assert _width(line) * block.size_pt <= room_w + 0.1
    assert write_labels([label], sheet=sheet)


def _width(line: tuple[Run, ...]) -> float:
    return sum(width_of(letter, face=run.face) for run in line for letter in run.text)


def test_a_module_is_never_smaller_than_is_read() -> None:
    for sheet in SHEETS:
        modules = len(qr_code(f"{BASE}/to/26-10000").matrix) + 2 * QUIET_MODULES
        box = qr_box(sheet, modules=modules, address=BASE)
        assert box.width / modules >= SMALLEST_MODULE_MM
