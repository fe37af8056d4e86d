from pathlib import Path

import pytest

from app.domain.notebook_columns import COLUMNS, recognise_header
from app.domain.problems import NotAccepted


def test_any_order_case_and_spacing_is_recognised() -> None:
    header = recognise_header(
        ["Stuck", " BATCH", "Stuck on", "plant ", "Bottom heat °C", "Lost-cause"]
    )
    assert header.places == {
        "stuck": 0,
        "batch": 1,
        "stuck_on": 2,
        "plant": 3,
        "bottom_heat_c": 4,
        "lost_cause": 5,
    }


def test_every_column_is_recognised_by_its_own_name() -> None:
    header = recognise_header(COLUMNS)
    assert list(header.places) == list(COLUMNS)
    assert header.ignored == ()


def test_unknown_headings_are_listed() -> None:
    header = recognise_header(["batch", "plant", "stuck_on", "stuck", "", "Weather", "Row 7"])
    assert header.ignored == ("Weather", "Row 7")
    assert header.width == 7


@pytest.mark.parametrize(
    ("cells", "field", "words"),
    [
        (["plant", "stuck_on", "stuck"], "batch", "is missing"),
        (["batch", "plant", "stuck"], "stuck_on", "is missing"),
        (["batch", "plant", "stuck_on", "stuck", "Stuck"], "stuck", "stands twice"),
        (["batch", "plant", "stuck_on", "stuck", "roted"], "rooted", "“roted” is no column"),
    ],
)
def test_says_what_is_wrong_with_a_header(cells: list[str], field: str, words: str) -> None:
    with pytest.raises(NotAccepted) as refused:
        recognise_header(cells)
    assert refused.value.problems[0].field == field
    assert words in refused.value.problems[0].sentence


def test_every_column_is_documented() -> None:
    page = Path(__file__).parents[2] / "docs" / "notebook.md"
    text = page.read_text(encoding="utf-8")
    assert [column for column in COLUMNS if f"| `{column}` |" not in text] == []
