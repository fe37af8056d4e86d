from datetime import date
from pathlib import Path

import pytest
from sqlalchemy import func, select

from app.domain.batches import BatchEntry, SourceKind, SourceLine
from app.domain.check_entries import CheckEntry
from app.domain.notebook_comparison import LineState
from app.domain.people import Actor
from app.domain.plant_names import kept_plant_name
from app.domain.problems import NotAccepted
from app.services.batches import stick_batch, void_batch
from app.services.checks import record_check, withdraw_check
from app.services.notebook_writing import LogChanged, write_notebook
from app.services.plant_names import keep_plant_name
from app.services.verifying import verify_log
from app.store.models.batches import Batch, BatchFacts, BatchSource
from app.store.models.benches import Bench, BenchStay
from app.store.models.checks import Check, CheckVersion
from app.store.models.history import HistoryLine
from app.store.models.people import Person
from app.store.models.stock_plants import StockPlant
from app.store.queries.checks import list_checks
from app.store.session import Database
from tests.conftest import NOW, TODAY
from tests.services.notebook_imports import compare, write

BARTLETT = Path(__file__).parents[1] / "data" / "bartlett_notebook.csv"

HEADER = (
    "batch,plant,stuck_on,stuck,stock_plant,mix,bench,person,checked_on,checked_by,kind,rooted,"
    "lost,lost_cause,unrooted_counted,ending,note"
)
SHEET = f"""{HEADER}
    A1,Prunus domestica,2026-05-01,100,S-0031,Sand,Bench 3,Ines Farrow,,,,,,,,,
    A1,,,,,,,,2026-06-01,Nell Oake,,30,4,basal rot,,,strong
    A1,,,,,,,,2026-06-01,,,,2,grey mould,,,
    A2,Salvia officinalis,2026-05-02,60,,Sand,Bench 4,,2026-06-02,,,20,,,,dumped,
    A3,Salvia officinalis,2026-05-03,40,,,,,2026-06-02,,sample,3,,,7,,"""


def facts_of(database: Database, code: str) -> tuple[int, int, int, int]:
    with database.reading() as session:
        facts = session.scalars(
            select(BatchFacts)
            .join(Batch, Batch.id == BatchFacts.batch_id)
            .where(Batch.code == code)
        ).one()
        return (facts.rooted, facts.lost, facts.dumped, facts.unrooted)


def sound(database: Database) -> bool:
    """Return whether every derived figure and the history's chain agree."""
    with database.reading() as session:
        return list(verify_log(session)) == []


def states_of(database: Database, text: str) -> list[str]:
    return [str(state) for state in compare(database, text).states.values()]


def test_bartlett_comes_in_as_four_batches_of_240(database: Database, head: Actor) -> None:
    # Bartlett 1935, J. R. Statist. Soc. Suppl. 2:248-252 (CONFIRMED: equal to vcdExtra::Bartlett).
    written = write(database, BARTLETT.read_text(), actor=head)
    assert (written.batches_made, written.checks_made, written.lines_left_out) == (4, 4, 0)
    with database.reading() as session:
        query = select(Batch.own_reference, BatchFacts.rooted, BatchFacts.lost, BatchFacts.open)
        rows = session.execute(query.join(BatchFacts, BatchFacts.batch_id == Batch.id)).all()
        codes = session.scalars(select(Batch.code).order_by(Batch.id)).all()
    assert {tuple(row) for row in rows} == {
        ("long now", 156, 84, 0),
        ("short now", 107, 133, 0),
        ("long spring", 84, 156, 0),
        ("short spring", 31, 209, 0),
    }
    assert codes == ["25-0001", "25-0002", "26-0001", "26-0002"]
    assert sound(database)


def test_a_sheet_makes_batches_checks_and_names(database: Database, head: Actor) -> None:
    comparison = compare(database, SHEET)
    assert dict(comparison.new_names.listed) == {
        "plant names": ("Prunus domestica", "Salvia officinalis"),
        "stock plants": ("S-0031",),
        "mixes": ("Sand",),
        "benches": ("Bench 3", "Bench 4"),
        "people": ("Nell Oake",),
        "causes of loss": ("basal rot", "grey mould"),
    }
    written = write(database, SHEET, actor=head)
    assert (written.batches_made, written.checks_made, written.names_made) == (3, 3, 9)
    assert facts_of(database, "26-0001") == (30, 6, 0, 64)
    assert facts_of(database, "26-0002") == (20, 0, 40, 0)
    assert facts_of(database, "26-0003") == (0, 0, 0, 40)
    assert sound(database)
    with database.reading() as session:
        check = list_checks(session, batch_id=1)[0]
        stay = session.execute(
            select(Bench.name, BenchStay.from_on, BenchStay.to_on)
            .join(BenchStay, BenchStay.bench_id == Bench.id)
            .where(BenchStay.batch_id == 1)
        ).one()
        stock_plant = session.scalars(
            select(StockPlant.code).join(BatchSource, BatchSource.stock_plant_id == StockPlant.id)
        ).one()
        sample = list_checks(session, batch_id=3)[0].counts
    assert (check.checked_by, check.note, check.recorded_by) == ("Nell Oake", "strong", head.name)
    assert [(loss.cause, loss.number) for loss in check.counts.lost] == [
        ("basal rot", 4),
        ("grey mould", 2),
    ]
    assert tuple(stay) == ("Bench 3", date(2026, 5, 1), None)
    assert stock_plant == "S-0031"
    assert (sample.looked, sample.rooted) == (10, 3)


def test_each_batch_has_one_line_in_the_history(database: Database, head: Actor) -> None:
    write(database, SHEET, actor=head)
    with database.reading() as session:
        lines = session.execute(
            select(HistoryLine.subject, HistoryLine.change).where(HistoryLine.what == "batch stuck")
        ).all()
    assert [tuple(line) for line in lines] == [
        ("batch 26-0001", "{}"),
        ("batch 26-0002", "{}"),
        ("batch 26-0003", "{}"),
    ]


def test_reading_a_sheet_again_changes_nothing(database: Database, head: Actor) -> None:
    write(database, SHEET, actor=head)
    comparison = compare(database, SHEET)
    assert set(comparison.states.values()) == {LineState.SAME}
    assert comparison.to_write == ()
    assert comparison.minded == ()
    with database.reading() as session:
        before = session.scalar(select(func.count()).select_from(HistoryLine))
    written = write(database, SHEET, actor=head)
    assert (written.batches_made, written.batches_corrected, written.checks_made) == (0, 0, 0)
    with database.reading() as session:
        assert session.scalar(select(func.count()).select_from(HistoryLine)) == before


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


WRONG = f"""{HEADER}
    C1,Prunus domestica,2026-05-01,100,,,,,2026-06-01,,,30,,,,,
    C2,Prunus domestica,2026-05-32,100,,,,,2026-06-01,,,30,,,,,
    C3,Prunus domestica,2026-05-01,100,,,,,2026-06-01,,,130,,,,,
    C4,Prunus domestica,2026-05-01,100,,,,,2026-06-01,,,30,,,,,"""


def test_nothing_is_written_while_a_line_is_wrong(database: Database, head: Actor) -> None:
    comparison = compare(database, WRONG)
    assert comparison.counts[LineState.WRONG] == 2
    assert [(remark.line, remark.column) for remark in comparison.wrong] == [
        (3, "stuck_on"),
        (4, "rooted"),
    ]
    with pytest.raises(NotAccepted, match="Nothing was written: 2 lines are wrong"):
        write(database, WRONG, actor=head)
    with database.reading() as session:
        assert session.scalar(select(func.count()).select_from(Batch)) == 0


def test_two_wrong_lines_can_be_left_out(database: Database, head: Actor) -> None:
    written = write(database, WRONG, actor=head, skip_wrong=True)
    assert (written.batches_made, written.checks_made, written.lines_left_out) == (2, 2, 2)
    assert sound(database)
    mended = WRONG.replace("05-32", "05-31").replace(",130,", ",13,")
    assert states_of(database, mended) == ["the same", "new", "new", "the same"]


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


def test_another_notebook_with_the_same_names_is_another(database: Database, head: Actor) -> None:
    write(database, SHEET, actor=head)
    comparison = compare(database, SHEET, reference="notebook 2027")
    assert comparison.counts[LineState.NEW] == 5
    assert [remark.line for remark in comparison.minded if remark.column == "batch"] == [2, 5, 6]
    assert "(A1 of notebook 2026)" in comparison.minded[0].sentence


def test_our_own_code_with_plant_and_day_is_the_batch(database: Database, head: Actor) -> None:
    write(database, SHEET, actor=head)
    own = """batch,plant,stuck_on,stuck,checked_on,rooted
        26-0001,Prunus domestica,2026-05-01,100,2026-07-01,5
        26-2,Salvia officinalis,2026-05-02,60,,
        26-0003,Salvia officinalis,2026-05-04,40,,"""
    comparison = compare(database, own, reference="another")
    assert [str(state) for state in comparison.states.values()] == ["new", "the same", "new"]
    assert [batch.kept.code if batch.kept else "" for batch in comparison.batches] == [
        "26-0001",
        "26-0002",
        "",
    ]
    assert "In the log 26-0003 is Salvia officinalis, stuck on" in comparison.minded[-1].sentence


def test_two_names_for_one_batch_are_wrong(database: Database, head: Actor) -> None:
    write(database, SHEET, actor=head)
    twice = """batch,plant,stuck_on,stuck
        26-0001,Prunus domestica,2026-05-01,100
        A1,Prunus domestica,2026-05-01,100"""
    assert states_of(database, twice) == ["the same", "wrong"]


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


def test_names_are_found_however_they_are_written(database: Database, head: Actor) -> None:
    write(database, SHEET, actor=head)
    other = (
        SHEET.replace("Sand", "SAND")
        .replace("Bench 3", "bench  3")
        .replace("Ines Farrow", "ines farrow")
        .replace("S-0031", "s31")
        .replace("basal rot", "Basal rot")
    )
    assert set(states_of(database, other)) == {"the same"}


def test_a_plant_without_its_marks_is_the_one_in_the_log(database: Database, head: Actor) -> None:
    sheet = """batch,plant,stuck_on,stuck
        D1,Hebe 'Great Orme',2026-05-01,100"""
    write(database, sheet, actor=head)
    comparison = compare(database, sheet.replace("'Great Orme'", "Great Orme"))
    assert set(comparison.states.values()) == {LineState.SAME}


def test_a_stock_plant_under_a_name_of_its_own_is_found_again(
    database: Database, head: Actor
) -> None:
    sheet = """batch,plant,stuck_on,stuck,stock_plant
        E1,Prunus domestica,2026-05-01,100,Old hedge + S-0007
        E2,Salvia officinalis,2026-05-01,100,Old hedge"""
    comparison = compare(database, sheet)
    assert "Old hedge is Prunus domestica" in comparison.minded[0].sentence
    write(database, sheet, actor=head)
    assert set(states_of(database, sheet)) == {"the same"}
    with database.reading() as session:
        codes = session.execute(select(StockPlant.code, StockPlant.supplier_reference)).all()
    assert sorted(tuple(code) for code in codes) == [("S-0001", "Old hedge"), ("S-0007", "")]


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


def test_a_log_that_changed_meanwhile_is_not_written_to(database: Database, head: Actor) -> None:
    comparison = compare(database, SHEET)
    write(database, BARTLETT.read_text(), actor=head, reference="other")
    with pytest.raises(LogChanged, match="Look it over again"), database.writing() as session:
        write_notebook(session, actor=head, today=TODAY, now=NOW, comparison=comparison)
    with database.reading() as session:
        assert session.scalar(select(func.count()).select_from(Batch)) == 4


def test_without_a_person_the_program_is_named(database: Database) -> None:
    write(database, SHEET, actor=None)
    with database.reading() as session:
        assert session.scalars(select(Batch.recorded_by_id)).all() == [None, None, None]
        assert session.scalar(select(func.count()).select_from(Check)) == 3
