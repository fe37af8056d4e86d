"""The revision by which what was known of stock plants becomes their first entries."""

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from app.services.verifying_stock_plants import stock_plant_faults
from app.store.migrating import migrate, migrations_folder, revisions
from app.store.session import Database
from tests.migrations.rows import fill

(FILE,) = (migrations_folder() / "versions").glob("*_stock_plant_events.py")
REVISION = FILE.name.split("_")[1]
BEFORE = revisions()[revisions().index(REVISION) - 1]
ENTERED = "2026-02-03 08:00:00.000000"


def _as_it_was(path: Path, **values: object) -> None:
    migrate(path, revision=BEFORE)
    fill(path)
    known = {
        "code": "S-0001", "plants": 7, "came_on": None, "cut_back_on": None, "renew_by": None,
        "tested_until": None, "true_to_type_on": None,
    } | values  # fmt: skip
    with closing(sqlite3.connect(path)) as connection:
        told = ", ".join(f"{name} = ?" for name in known)
        connection.execute(f"UPDATE stock_plants SET {told}", tuple(known.values()))
        for (name,) in connection.execute(
            "SELECT name FROM sqlite_master WHERE type = 'trigger' AND tbl_name = 'history'"
        ).fetchall():
            connection.execute(f'DROP TRIGGER "{name}"')
        connection.execute("UPDATE history SET subject = 'stock plant S-0001', at = ?", (ENTERED,))
        connection.commit()


@pytest.mark.parametrize(
    ("values", "lines"),
    [
        ({}, [("counted", "2026-02-03", 7, "", None)]),
        (
            {
                "came_on": "2025-05-01",
                "cut_back_on": "2026-03-01",
                "renew_by": "2029-01-01",
                "tested_until": "2024-01-01",
                "true_to_type_on": "2025-09-01",
            },
            [
                ("counted", "2025-05-01", 7, "", None),
                ("cut back", "2026-03-01", None, "", None),
                ("renewal set", "2025-05-01", None, "", "2029-01-01"),
                ("tested", "2024-01-01", None, "good", "2024-01-01"),
                ("true to type", "2025-09-01", None, "good", None),
            ],
        ),
    ],
)
def test_what_was_known_is_carried_over(
    tmp_path: Path, values: dict[str, object], lines: list[tuple[object, ...]]
) -> None:
    path = tmp_path / "a.db"
    _as_it_was(path, **values)
    migrate(path)
    with closing(sqlite3.connect(path)) as connection:
        found = connection.execute(
            "SELECT kind, happened_on, plants, result, until_on FROM stock_plant_events "
            "WHERE stands = 1 AND made_at = ? ORDER BY kind",
            (ENTERED,),
        ).fetchall()
    assert found == lines
    database = Database(path, journal="TRUNCATE")
    with database.reading() as session:
        assert list(stock_plant_faults(session)) == []
    database.close()
