"""A sheet of orders: read in full, or refused line by line."""

from datetime import date

import pytest

from app.domain.order_sheets import OrderLine, read_order_lines
from app.domain.problems import NotAccepted
from app.domain.sheet_lines import SheetLine

TODAY = date(2026, 11, 25)


def sheet(*rows: str) -> list[SheetLine]:
    return [
        SheetLine(number=number, cells=tuple(row.split(",")))
        for number, row in enumerate(rows, start=1)
    ]


def test_lines_are_read_with_what_is_usual() -> None:
    found = read_order_lines(
        sheet("plants,Plant,due,sure", "500,Hebe,2027-05-17,95 %", "6 trays of 84,Ilex,week 20,"),
        today=TODAY,
    )
    assert found[0] == OrderLine(
        number=2,
        plant="Hebe",
        plants=500,
        due_on=date(2027, 5, 17),
        sure_share=0.95,
        batches=3,
        window_weeks=3,
    )
    assert (found[1].plants, found[1].sure_share, found[1].due_on.year) == (504, 0.9, 2027)


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        (["plant,due"], "no column plants"),
        (["plant,plants,due,colour"], "Unknown column colour"),
        (["plant,plants,due"], "no order in the sheet"),
        (["plant,plants,due", "Hebe,0,week 20"], "Line 2, plants: Give at least 1."),
        (["plant,plants,due", ",5,week 20"], "Line 2, plant: Name a plant"),
        (["plant,plants,due", "Hebe,5,2020-01-01"], "Line 2, due: This day is not to come"),
        (["plant,plants,due", "Hebe,5,31/2"], "Line 2, due: There is no such day"),
        (["plant,plants,due,sure", "Hebe,5,week 20,1"], "Line 2, sure: Say how sure"),
        (["plant,plants,due,batches", "Hebe,5,week 20,0"], "Line 2, batches"),
    ],
)
def test_what_is_wrong_is_said_by_its_line(rows: list[str], said: str) -> None:
    with pytest.raises(NotAccepted, match=said):
        read_order_lines(sheet(*rows), today=TODAY)


def test_every_wrong_line_is_named() -> None:
    with pytest.raises(NotAccepted) as refused:
        read_order_lines(
            sheet("plant,plants,due", "Hebe,x,week 20", "Ilex,5,week 20", "Buxus,5,never"),
            today=TODAY,
        )
    assert [problem.field for problem in refused.value.problems] == ["plants", "due"]
