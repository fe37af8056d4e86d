from datetime import date
from pathlib import Path

import pytest
from sqlalchemy import func, select

from app.domain.notebook_comparison import LineState
from app.domain.people import Actor
from app.domain.problems import NotAccepted
from app.services.notebook_writing import LogChanged, write_notebook
from app.store.models.batches import Batch, BatchFacts, BatchSource
from app.store.models.benches import Bench, BenchStay
from app.store.models.checks import Check
from app.store.models.history import HistoryLine
from app.store.models.stock_plants import StockPlant
from app.store.queries.checks import list_checks
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

BARTLETT = Path(__file__).parents[1] / "data" / "bartlett_notebook.csv"


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
