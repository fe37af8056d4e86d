"""The page of the log as a whole."""

import io
import sqlite3
from collections.abc import Callable
from pathlib import Path

from flask.testing import FlaskClient

from app.domain.people import Actor, Role
from app.services.backups import keep_regular_backups
from app.settings import Settings
from app.store.session import Database
from tests.conftest import NOW, TODAY
from tests.services.notebook_imports import SHEET, write

SignIn = Callable[[Role], FlaskClient]


def test_each_role_sees_what_it_may_do(sign_in: SignIn) -> None:
    head = sign_in(Role.HEAD).get("/records").text
    for words in ("Read a sheet in", "Take data out", "Backups", "History", "/people"):
        assert words in head
    manager = sign_in(Role.MANAGER).get("/records").text
    assert "Take data out" in manager
    assert "Read a sheet in" not in manager
    trainee = sign_in(Role.TRAINEE).get("/records").text
    assert "Take data out" not in trainee
    assert "/benches" in trainee


def test_every_link_of_the_page_leads_somewhere(sign_in: SignIn) -> None:
    client = sign_in(Role.HEAD)
    page = client.get("/records").text
    links = {part.split('"')[0] for part in page.split('<a href="')[1:]}
    inside = {link for link in links if link.startswith("/") and link != "/strike-rates"}
    for link in inside:
        with client.get(link) as answer:
            assert (link, answer.status_code) == (link, 200)


def test_a_sheet_that_waits_is_shown(sign_in: SignIn) -> None:
    client = sign_in(Role.HEAD)
    sheet = "batch,plant,stuck_on,stuck\nA,Rosa canina,2026-05-01,1\n"
    client.post(
        "/records/import",
        data={"sheet": (io.BytesIO(sheet.encode()), "roses.csv")},
        content_type="multipart/form-data",
    )
    assert "roses.csv</a> waits to be looked over" in client.get("/records").text


def test_how_old_the_backups_are(sign_in: SignIn, database: Database) -> None:
    client = sign_in(Role.HEAD)
    assert "No regular backup has been made yet." in client.get("/records").text
    settings = Settings(data=database.path.parent, secret_key="0")
    keep_regular_backups(settings, today=TODAY, now=NOW)
    assert "1 daily and 1 monthly ones are kept" in client.get("/records").text


def test_a_copy_of_the_log_can_be_downloaded(
    sign_in: SignIn, database: Database, head: Actor, tmp_path: Path
) -> None:
    write(database, SHEET, actor=head)
    copy = tmp_path / "copy.db"
    with sign_in(Role.HEAD).get("/records/backup") as answer:
        assert answer.status_code == 200
        assert "attachment" in answer.headers["Content-Disposition"]
        copy.write_bytes(answer.data)
    with sqlite3.connect(copy) as connection:
        assert connection.execute("SELECT count(*) FROM batches").fetchone() == (3,)
    connection.close()
    assert sign_in(Role.MANAGER).get("/records/backup").status_code == 403


def test_the_history_is_shown_a_page_at_a_time(
    sign_in: SignIn, database: Database, head: Actor
) -> None:
    rows = "\n".join(f"H{number},Rosa canina,2026-05-01,9" for number in range(120))
    write(database, f"batch,plant,stuck_on,stuck\n{rows}", actor=head)
    client = sign_in(Role.HEAD)
    page = client.get("/records/history").text
    assert page.count("batch stuck") == 100
    assert "batch 26-0120" in page
    older = client.get("/records/history?before=22").text
    assert "plant name added" in older
    assert client.get("/records/history?before=1").status_code == 200
    assert sign_in(Role.MANAGER).get("/records/history").status_code == 403
