"""The told log: sound, believable to a propagator, and the same each time."""

import sqlite3
from datetime import date, timedelta
from pathlib import Path

import pytest

from app.services.verifying import verify_log
from app.store.queries.today import list_due
from app.store.session import Database
from seed_demo.content import content_hash
from tests.conftest import TODAY
from tests.seed_demo.telling import tell


def _one(told: sqlite3.Connection, query: str) -> int:
    return int(told.execute(query).fetchone()[0])


def test_everything_in_it_agrees(told_database: Database) -> None:
    with told_database.reading() as session:
        assert list(verify_log(session)) == []


def test_several_hundred_batches_over_two_seasons(told: sqlite3.Connection) -> None:
    assert 400 < _one(told, "SELECT COUNT(*) FROM batches") < 700
    assert _one(told, "SELECT COUNT(DISTINCT year_stuck) FROM batch_facts") == 3
    assert _one(told, "SELECT COUNT(DISTINCT month_stuck) FROM batch_facts") == 12
    assert told.execute("SELECT MAX(stuck_on) FROM batches").fetchone()[0] < TODAY.isoformat()
    assert told.execute("SELECT MAX(checked_on) FROM checks").fetchone()[0] < TODAY.isoformat()


def test_something_is_late_but_not_much(told_database: Database) -> None:
    with told_database.reading() as session:
        due = list_due(session, on=TODAY, most=1_000)
    assert 2 <= due.late <= 20
    assert due.due_today >= 3
    assert len(due.benches) >= 2


@pytest.mark.parametrize(
    ("plant", "low", "high"),
    [
        # Where a propagator would expect them (common practice, no source).
        ("Coleus%", 0.9, 1.0),
        ("Origanum%", 0.85, 1.0),
        ("Fuchsia%", 0.8, 0.97),
        ("Lavandula%", 0.6, 0.9),
        ("Viburnum ×%", 0.3, 0.7),
        ("Camellia%", 0.35, 0.8),
    ],
)
def test_rates_are_believable(
    told: sqlite3.Connection, plant: str, low: float, high: float
) -> None:
    query = (
        "SELECT 1.0 * SUM(rooted) / SUM(stuck) FROM batch_facts f "
        "JOIN plant_names p ON p.id = f.plant_name_id "
        "WHERE p.plain LIKE ? AND unrooted = 0 AND cleared_unrooted = 0 AND voided = 0"
    )
    share = told.execute(query, (plant,)).fetchone()[0]
    assert low < share < high


def test_softwood_is_done_before_hardwood(told: sqlite3.Connection) -> None:
    query = (
        "SELECT AVG(julianday(f.counted_on) - julianday(f.stuck_on)) FROM batch_facts f "
        "WHERE f.cutting_type = ? AND f.open = 0"
    )
    days = {kind: told.execute(query, (kind,)).fetchone()[0] for kind in ("softwood", "hardwood")}
    assert days["softwood"] < 70 < days["hardwood"]


def test_batches_end_in_every_way(told: sqlite3.Connection) -> None:
    ends = dict(told.execute("SELECT ending_kind, COUNT(*) FROM batches GROUP BY 1").fetchall())
    assert set(ends) == {"", "dumped", "cleared unrooted"}
    assert _one(told, "SELECT COUNT(*) FROM batch_facts WHERE rooted = 0 AND open = 0") < 10
    assert 10 < _one(told, "SELECT COUNT(*) FROM batch_facts WHERE open = 1") < 150


def test_people_make_mistakes_and_put_them_right(told: sqlite3.Connection) -> None:
    assert _one(told, "SELECT COUNT(*) FROM check_versions WHERE number > 1 AND reason <> ''") > 10
    assert _one(told, "SELECT COUNT(*) FROM checks WHERE withdrawn = 1") > 2
    assert _one(told, "SELECT COUNT(*) FROM batches WHERE voided_at IS NOT NULL") > 0
    assert _one(told, "SELECT COUNT(*) FROM history WHERE what = 'batch corrected'") > 0


def test_checks_are_of_every_kind(told: sqlite3.Connection) -> None:
    kinds = {row[0] for row in told.execute("SELECT DISTINCT kind FROM checks")}
    typed = {row[0] for row in told.execute("SELECT DISTINCT typed_as FROM check_versions")}
    assert kinds == {"counted", "sample", "looked only"}
    assert typed == {"new", "all so far", "what is left"}
    assert _one(told, "SELECT COUNT(DISTINCT lost_cause_id) FROM check_losses") >= 10


def test_sick_plants_show_in_what_was_taken_from_them(told: sqlite3.Connection) -> None:
    query = (
        "SELECT s.state, 1.0 * SUM(f.rooted) / SUM(f.stuck) FROM batch_facts f "
        "JOIN batch_sources b ON b.batch_id = f.batch_id "
        "JOIN stock_plants s ON s.id = b.stock_plant_id "
        "JOIN plant_names p ON p.id = s.plant_name_id "
        "WHERE p.plain = 'Pelargonium ''Attar of Roses''' AND f.voided = 0 GROUP BY 1"
    )
    share = dict(told.execute(query).fetchall())
    assert share["on hold"] < share["fit to cut"]


def test_the_same_seed_and_day_tell_the_same(tmp_path: Path) -> None:
    hashes = [
        content_hash(tell(_made(tmp_path / name), seed=seed, days=45))
        for name, seed in (("a", 3), ("b", 3), ("c", 4))
    ]
    assert hashes[0] == hashes[1]
    assert hashes[0] != hashes[2]


def test_another_day_in_the_year_tells_a_story_too(tmp_path: Path) -> None:
    spring = date(2027, 5, 16)
    database = Database(tell(tmp_path, today=spring, days=100))
    with database.reading() as session:
        due = list_due(session, on=spring, most=1_000)
        assert list(verify_log(session)) == []
    database.close()
    assert due.late + due.due_today + due.coming > 10
    assert due.late >= 1
    assert spring - timedelta(days=100) < min(
        batch.stuck_on for bench in due.benches for batch in bench.batches
    )


def test_what_was_changed_shows_in_the_hash(told_file: Path, tmp_path: Path) -> None:
    copy = tmp_path / "copy.db"
    copy.write_bytes(told_file.read_bytes())
    assert content_hash(copy) == content_hash(told_file)
    with sqlite3.connect(copy) as connection:
        connection.execute("UPDATE batch_facts SET due_on = '2026-12-24' WHERE batch_id = 500")
    connection.close()
    assert content_hash(copy) != content_hash(told_file)


def _made(folder: Path) -> Path:
    folder.mkdir()
    return folder
