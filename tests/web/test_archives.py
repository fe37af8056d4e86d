"""The archive's page and its download."""

import io
import sqlite3
import zipfile
from collections.abc import Callable
from contextlib import closing
from html import unescape

from flask.testing import FlaskClient

from app.domain.people import Role
from app.store.archive_tables import LEFT_OUT
from app.store.base import Base
from app.store.session import Database

SignIn = Callable[[Role], FlaskClient]


def test_the_page_says_what_it_holds_and_that_it_is_personal(sign_in: SignIn) -> None:
    page = unescape(sign_in(Role.HEAD).get("/records/archive").text)
    assert "It holds personal data" in page
    for name in Base.metadata.tables:
        assert name.replace("_", " ").capitalize() in page
    for reason in set(LEFT_OUT.values()) - {LEFT_OUT["alembic_version"]}:
        assert reason.capitalize() in page
    assert '"/records/archive.zip"' in page


def test_records_leads_the_head_there(sign_in: SignIn) -> None:
    assert '"/records/archive"' in sign_in(Role.HEAD).get("/records").text
    assert '"/records/archive"' not in sign_in(Role.MANAGER).get("/records").text


def test_the_download_is_the_whole_log(sign_in: SignIn) -> None:
    with sign_in(Role.HEAD).get("/records/archive.zip") as answer:
        assert answer.mimetype == "application/zip"
        named = answer.headers["Content-Disposition"]
        data = answer.data
    assert 'filename="strikewell archive 2026-11-25.zip"' in named
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        assert "datapackage.json" in archive.namelist()
        assert "Ines Farrow" in archive.read("sheets/people.csv").decode()


def test_a_damaged_log_is_told_on_the_page(sign_in: SignIn, database: Database) -> None:
    with closing(sqlite3.connect(database.path)) as connection:
        connection.execute("UPDATE people SET notes = 'a' || char(0) WHERE id = 2")
        connection.commit()
    answer = sign_in(Role.HEAD).get("/records/archive.zip")
    assert answer.status_code == 500
    assert "notes in row 2 of people is damaged" in answer.text
