from datetime import date

from sqlalchemy import select

from app.domain.batches import BatchEntry, SourceKind, SourceLine
from app.domain.check_entries import CheckEntry
from app.domain.notebook_comparison import LineState
from app.domain.people import Actor
from app.domain.plant_names import kept_plant_name
from app.services.batches import stick_batch, void_batch
from app.services.checks import record_check, withdraw_check
from app.services.plant_names import keep_plant_name
from app.store.models.batches import Batch, BatchSource
from app.store.models.benches import Bench, BenchStay
from app.store.models.checks import CheckVersion
from app.store.models.history import HistoryLine
from app.store.models.people import Person
from app.store.session import Database
from tests.conftest import NOW, TODAY
from tests.services.notebook_imports import (
    HEADER,
    SHEET,
    compare,
    facts_of,
    sound,
    states_of,
    write,
)


def test_a_line_that_differs_becomes_a_correction(database: Database, head: Actor) -> None:
    write(database, SHEET, actor=head)
    changed = (
        SHEET.replace("2026-05-01,100", "2026-05-01,110")
        .replace(",30,4,basal rot", ",33,4,basal rot")
        .replace("2,grey mould", "1,grey mould")
        .replace("Bench 3", "Bench 5")
    )
    assert states_of(database, changed) == ["changed", "changed", "changed", "the same", "the same"]
    written = write(database, changed, actor=head)
    assert (written.batches_corrected, written.checks_corrected, written.names_made) == (1, 1, 1)
    assert facts_of(database, "26-0001") == (33, 5, 0, 72)
    assert sound(database)
    with database.reading() as session:
        versions = session.execute(
            select(CheckVersion.number, CheckVersion.reason, CheckVersion.rooted)
            .where(CheckVersion.check_id == 1)
            .order_by(CheckVersion.number)
        ).all()
        line = session.scalars(
            select(HistoryLine).where(HistoryLine.what == "batch corrected")
        ).one()
        batch = session.get_one(Batch, 1)
        stay = session.scalars(
            select(Bench.name).join(BenchStay, BenchStay.bench_id == Bench.id)
            .where(BenchStay.batch_id == 1)
        ).one()  # fmt: skip
    assert [tuple(version) for version in versions] == [(1, "", 30), (2, "sheet", 33)]
    assert (batch.stuck, batch.version, stay) == (110, 2, "Bench 5")
    assert '"stuck":[100,110]' in line.change
    assert '"check of 2026-06-01 no. 1, rooted":[30,33]' in line.change
    assert '"reason":["","sheet"]' in line.change
    assert set(states_of(database, changed)) == {"the same"}


def test_people_stand_in_the_history_by_their_key(database: Database, head: Actor) -> None:
    write(database, SHEET, actor=head)
    write(database, SHEET.replace("Ines Farrow", "Tomas Quill").replace("Nell", "Nia"), actor=head)
    with database.reading() as session:
        line = session.scalars(
            select(HistoryLine.change).where(HistoryLine.what == "batch corrected")
        ).one()
        keys = {row.name: row.key for row in session.execute(select(Person.name, Person.key))}
    assert f'"stuck_by":["{keys["Ines Farrow"]}","{keys["Tomas Quill"]}"]' in line
    assert f'["{keys["Nell Oake"]}","{keys["Nia Oake"]}"]' in line
    assert "Oake" not in line


def test_new_lines_for_a_stored_batch_add_checks(database: Database, head: Actor) -> None:
    write(database, SHEET, actor=head)
    longer = f"{SHEET}\n    A1,,,,,,,,2026-06-20,,,10,,,,cleared unrooted,bench needed"
    assert states_of(database, longer)[-1] == "new"
    written = write(database, longer, actor=head)
    assert (written.batches_corrected, written.checks_made) == (1, 1)
    assert facts_of(database, "26-0001") == (40, 6, 0, 0)
    assert sound(database)


def test_shifting_counts_between_checks_keeps_adding_up(database: Database, head: Actor) -> None:
    sheet = f"""{HEADER}
        B1,Prunus domestica,2026-05-01,100,,,,,2026-06-01,,,80,,,,,
        B1,,,,,,,,2026-06-10,,,10,,,,,
        B1,,,,,,,,2026-06-20,,,5,,,,dumped,"""
    write(database, sheet, actor=head)
    shifted = sheet.replace(",80,", ",20,").replace(",10,", ",70,").replace(",5,", ",2,")
    write(database, shifted, actor=head)
    assert facts_of(database, "26-0001") == (92, 0, 8, 0)
    fewer = shifted.replace("2026-05-01,100", "2026-05-01,95")
    write(database, fewer, actor=head)
    assert facts_of(database, "26-0001") == (92, 0, 3, 0)
    more = fewer.replace("2026-05-01,95", "2026-05-01,200").replace(",70,", ",150,")
    write(database, more, actor=head)
    assert facts_of(database, "26-0001") == (172, 0, 28, 0)
    assert sound(database)


def test_a_line_that_no_longer_fits_the_log_is_wrong(database: Database, head: Actor) -> None:
    write(database, SHEET, actor=head)
    with database.writing() as session:
        entry = CheckEntry(checked_on=date(2026, 7, 1), rooted=60)
        record_check(session, actor=head, today=TODAY, now=NOW, batch_id=1, entry=entry)
    comparison = compare(database, SHEET.replace(",30,4,basal rot", ",50,4,basal rot"))
    assert {remark.line for remark in comparison.wrong} == {2, 3, 4}
    culprit = comparison.wrong[1]
    assert (culprit.line, culprit.column) == (3, "rooted")
    assert "With the checks that 26-0001 has in the log" in culprit.sentence
    assert states_of(database, SHEET)[0] == "the same"


def test_what_the_sheet_does_not_say_stays(database: Database, head: Actor) -> None:
    write(database, SHEET, actor=head)
    blank = f"""{HEADER}
        A1,Prunus domestica,2026-05-01,100,,,,,,,,,,,,,"""
    assert states_of(database, blank) == ["the same"]
    short = """batch,plant,stuck_on,stuck
        A1,Prunus domestica,2026-05-01,100"""
    assert states_of(database, short) == ["the same"]


def test_a_void_batch_is_said_to_be_void(database: Database, head: Actor) -> None:
    write(database, SHEET, actor=head)
    with database.writing() as session:
        void_batch(session, actor=head, today=TODAY, now=NOW, batch_id=2, reason="not ours")
    comparison = compare(database, SHEET)
    assert [str(state) for state in comparison.states.values()].count("wrong") == 1
    assert "26-0002 in the log and void there" in comparison.wrong[0].sentence


def test_a_withdrawn_check_stays_withdrawn(database: Database, head: Actor) -> None:
    write(database, SHEET, actor=head)
    with database.writing() as session:
        withdraw_check(session, actor=head, now=NOW, check_id=1, version=1, reason="wrong tray")
    comparison = compare(database, SHEET)
    assert set(comparison.states.values()) == {LineState.SAME}
    assert "withdrawn in the log and stays so" in comparison.minded[0].sentence
    corrected = SHEET.replace(",30,4,basal rot", ",25,4,basal rot")
    assert states_of(database, corrected)[1] == "new"
    write(database, corrected, actor=head)
    assert facts_of(database, "26-0001") == (25, 6, 0, 69)
    assert sound(database)


def test_other_sources_of_a_batch_stay_when_its_stock_plant_changes(
    database: Database, head: Actor
) -> None:
    with database.writing() as session:
        plant = keep_plant_name(session, actor=head, now=NOW, name=kept_plant_name("Rosa canina"))
        entry = BatchEntry(
            plant_name_id=plant,
            stuck_on=date(2026, 5, 1),
            stuck=50,
            sources=(SourceLine(kind=SourceKind.BOUGHT_IN, supplier="Fenwick", number=20),),
        )
        stick_batch(session, actor=head, today=TODAY, now=NOW, entry=entry)
    sheet = """batch,plant,stuck_on,stuck,stock_plant
        26-0001,Rosa canina,2026-05-01,50,S-0003"""
    write(database, sheet, actor=head)
    with database.reading() as session:
        sources = session.execute(
            select(BatchSource.kind, BatchSource.supplier, BatchSource.number).order_by(
                BatchSource.position
            )
        ).all()
    assert [tuple(source) for source in sources] == [
        ("stock plant", "", None),
        ("bought in", "Fenwick", 20),
    ]
    assert set(states_of(database, sheet)) == {"the same"}
