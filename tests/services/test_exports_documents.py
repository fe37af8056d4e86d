"""Records that go out as sheets and do not come in: what each line says."""

import pytest
from sqlalchemy import select

from app.domain.people import Actor
from app.services.exports import ExportKind, export_rows
from app.services.people import erase_person
from app.services.sheet_kinds import SHEET_KINDS
from app.store.models.people import Person
from app.store.session import Database
from tests.conftest import NOW
from tests.services.sheet_log import taken_out

LINES = {
    "holds": {
        "hold": "1",
        "suspect": "S-0002",
        "suspected": "spots on the leaves, spreading",
        "placed_on": "2026-11-25",
        "placed_by": "Ines Farrow",
        "held": "S-0002",
        "held_at": "2026-11-25 09:00",
        "lifted_at": "",
    },
    "plant-passports": {
        "passport": "1",
        "territory": "GB",
        "batch": "26-0002",
        "c": "26-0002",
        "d": "GB",
        "plants": "120",
        "issued_by": "Ines Farrow",
        "void_reason": "",
    },
    "practicals": {
        "practical": "1",
        "topic": "Semi-ripe cuttings of evergreen shrubs",
        "taught_by": "Ines Farrow",
        "per_head": "20",
        "hormone": "IBA talc 1000 ppm",
        "bench": "Mist bench 2",
        "batches": "26-0001; 26-0004",
        "steps": "Choose healthy shoots\nCut below a node",
        "tools": "knife\n1 sprayer for all",
        "cautions": "The floor is wet",
        "cancelled": "no",
    },
    "season-lines": {"order": "1", "cuttings": "60", "by_hand": "yes", "note": "by hand"},
    "photographs": {
        "photograph": "1",
        "batch": "26-0001",
        "stock_plant": "",
        "caption": "Roots at the edge of the plug",
        "withdrawn": "no",
    },
    "sign-offs": {
        "technique": "semi-ripe",
        "signed_on": "2026-11-22",
        "signed_by": "Ines Farrow",
        "note": "ten clean cuts",
        "withdrawn": "no",
    },
}


@pytest.mark.parametrize("kind", LINES)
def test_a_record_goes_out_with_what_it_says(log: Database, kind: str) -> None:
    first = taken_out(log, kind)[0]
    assert {column: first[column] for column in LINES[kind]} == LINES[kind]


def test_these_do_not_come_in() -> None:
    assert not set(LINES) & set(SHEET_KINDS)
    out_only = {str(kind) for kind in ExportKind} - set(SHEET_KINDS)
    assert out_only == {*LINES, "checks", "mixes", "notebook"}


def test_what_was_taken_back_says_so(log: Database) -> None:
    assert taken_out(log, "plant-passports")[1]["void_reason"] == "entered twice"
    assert taken_out(log, "plant-passports")[1]["voided_at"] == "2026-11-25 09:00"
    assert taken_out(log, "practicals")[2]["cancel_reason"] == "nobody can come"
    assert taken_out(log, "sign-offs")[1]["withdraw_reason"] == "to be seen again"
    assert [line["withdrawn"] for line in taken_out(log, "photographs")].count("yes") == 1


@pytest.mark.parametrize("kind", LINES)
def test_who_was_erased_is_in_no_sheet(log: Database, head: Actor, kind: str) -> None:
    with log.writing() as session:
        erased = session.scalars(select(Person).where(Person.id == 2)).one()
        name, key = erased.name, erased.key
        erase_person(session, actor=head, now=NOW, key=key)
    said = {str(cell) for row in export_rows(log.reading, kind=ExportKind(kind)) for cell in row}
    assert not any(name in cell or "no longer recorded" in cell for cell in said)
