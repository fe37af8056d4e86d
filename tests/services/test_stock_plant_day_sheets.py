"""The sheet of what happened to stock plants: figures follow, and who may write what."""

from app.domain.people import Actor, Role
from app.services.sheet_imports import Writer
from app.store.session import Database
from tests.conftest import NOW, TODAY
from tests.services.sheet_cases import CASES
from tests.services.sheet_log import blank_line, compared, opened, taken_out


def test_a_stock_plant_s_own_figures_follow_from_a_day_read_in(
    log: Database, writer: Writer
) -> None:
    lines = taken_out(log, "stock-plant-days")
    counted = {
        "stock_plant": "S-0001",
        "kind": "counted",
        "happened_on": TODAY.isoformat(),
        "plants": "9",
    }
    reading = opened("stock-plant-days", [*lines, blank_line(lines, counted)])
    with log.writing() as session:
        assert reading.write_anew(session, writer=writer) == "1 record added."
    plant = next(one for one in taken_out(log, "stock-plants") if one["stock_plant"] == "S-0001")
    assert plant["plants"] == "9"


def test_a_trainee_s_sheet_holds_only_what_a_trainee_writes_down(log: Database) -> None:
    trainee = Actor(person_id=2, person_key="key-of-trainee", name="Nell Oake", role=Role.TRAINEE)
    test = CASES["stock-plant-days"].new or {}
    reading = opened("stock-plant-days", [{"entry": "", **test}])
    found = compared(log, reading, Writer(actor=trainee, today=TODAY, now=NOW))
    assert [(remark.line, remark.column) for remark in found.wrong] == [(2, "kind")]
    assert "written down by the head" in found.wrong[0].sentence


def test_days_of_stock_plants_need_a_name(log: Database) -> None:
    reading = opened("stock-plant-days", [{"entry": "", **(CASES["stock-plant-days"].new or {})}])
    found = compared(log, reading, Writer(actor=None, today=TODAY, now=NOW))
    assert "Say who enters stock plant days" in found.wrong[0].sentence
