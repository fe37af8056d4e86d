"""The revision by which re-stuck cuttings are counted in the batch they came from."""

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from app.store.migrating import migrate, revisions
from tests.migrations.rows import fill

REVISION = next(each for each in revisions() if each == "0011")
BEFORE = revisions()[revisions().index(REVISION) - 1]

Found = tuple[tuple[int, int, int, int], int, int | None, str]


def _as_it_was(path: Path, *, ending: str, moved: int, unrooted: int, ended: int) -> None:
    """Let batch 2 name batch 1, of 100 with 40 rooted, as the log did before."""
    migrate(path, revision=BEFORE)
    fill(path)
    dumped, cleared = (ended if ending == kind else 0 for kind in ("dumped", "cleared unrooted"))
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("DELETE FROM checks WHERE id <> 1")
        connection.execute(
            "UPDATE batches SET stuck = 100, stuck_on = '2026-03-01', ending_kind = ?", (ending,)
        )
        _double(connection, "batches", key="id", moved=moved)
        connection.execute(
            "UPDATE batch_facts SET stuck = 100, rooted = 40, lost = 0, dumped = ?, "
            "cleared_unrooted = ?, unrooted = ?, open = ?",
            (dumped, cleared, unrooted, int(unrooted > 0)),
        )
        connection.execute(
            "UPDATE checks SET batch_id = 1, kind = 'counted', rooted = 40, lost = 0, ended = ?, "
            "ending = ?, withdrawn = 0",
            (ended, ending),
        )
        connection.commit()


def _double(connection: sqlite3.Connection, table: str, *, key: str, moved: int) -> None:
    columns = [row[1] for row in connection.execute(f"PRAGMA table_info({table})")]
    others = ", ".join(f'"{name}"' for name in columns if name != key)
    values = {
        "number": "number + 1", "code": "'26-0002'", "stuck": str(moved), "restuck_from_id": "1",
        "stuck_on": "'2026-04-01'", "ending_kind": "''",
    }  # fmt: skip
    chosen = ", ".join(values.get(name, f'"{name}"') for name in columns if name != key)
    connection.execute(f"INSERT INTO {table} ({others}) SELECT {chosen} FROM {table}")


def _read(path: Path) -> Found:
    with closing(sqlite3.connect(path)) as connection:
        facts = connection.execute(
            "SELECT dumped, cleared_unrooted, unrooted, open FROM batch_facts WHERE batch_id = 1"
        ).fetchone()
        ended = connection.execute("SELECT ended FROM checks").fetchone()[0]
        parent, notes = connection.execute(
            "SELECT restuck_from_id, notes FROM batches WHERE code = '26-0002'"
        ).fetchone()
    return facts, ended, parent, notes


@pytest.mark.parametrize(
    ("ending", "moved", "unrooted", "ended", "facts", "left"),
    [
        ("", 25, 60, 0, (0, 25, 35, 1), 0),
        ("", 60, 60, 0, (0, 60, 0, 0), 0),
        ("dumped", 25, 0, 60, (35, 25, 0, 0), 35),
        ("cleared unrooted", 25, 0, 60, (0, 60, 0, 0), 35),
    ],
)
def test_what_fits_is_counted_and_given_back_on_the_way_down(
    tmp_path: Path,
    ending: str,
    moved: int,
    unrooted: int,
    ended: int,
    facts: tuple[int, ...],
    left: int,
) -> None:
    path = tmp_path / "a.db"
    _as_it_was(path, ending=ending, moved=moved, unrooted=unrooted, ended=ended)
    before = _read(path)
    migrate(path, revision=REVISION)
    assert _read(path)[:3] == (facts, left, 1)
    migrate(path, revision=BEFORE)
    assert _read(path) == before


def test_what_does_not_fit_is_kept_in_words(tmp_path: Path) -> None:
    path = tmp_path / "a.db"
    _as_it_was(path, ending="", moved=61, unrooted=60, ended=0)
    migrate(path, revision=REVISION)
    facts, _, parent, notes = _read(path)
    assert (facts, parent) == ((0, 0, 60, 1), None)
    assert "Re-stuck from" in notes
    assert "of which fewer were left." in notes
