"""The page of how a rate was worked out, and that one square reads the same on every page."""

import re
from collections.abc import Callable
from datetime import date, timedelta

import pytest
from flask.testing import FlaskClient

from app.domain.people import Role
from app.store.models.checks import Check
from app.store.session import Database
from tests.domain.rate_batches import Counts
from tests.store.rate_records import RateRecords

SignIn = Callable[[Role], FlaskClient]


@pytest.fixture(autouse=True)
def _fourteen_finished(database: Database) -> None:
    with database.writing() as session:
        records = RateRecords(session)
        for number in range(14):
            plant = "Hebe 'Invented'" if number % 2 else "Ilex crenata"
            counts = Counts(rooted=20 + number % 4, lost=10 - number % 4)
            stuck_on = date(2026, 1, 5) + timedelta(days=7 * number)
            batch = records.add_batch(counts, plant=plant, stuck_on=stuck_on)
            found = {"rooted": counts.rooted, "lost": counts.lost, "kind": "counted"}
            session.add(Check(batch_id=batch.id, checked_on=stuck_on + timedelta(days=30), **found))


def _figure(page: str) -> str:
    text = re.sub(r"<[^>]+>", " ", page)
    found = re.search(r"\d+ %\s*\(\d+ to \d+ %\)", " ".join(text.split()))
    assert found is not None
    return found.group()


def test_each_step_is_shown_with_its_numbers(sign_in: SignIn) -> None:
    page = sign_in(Role.MANAGER).get("/strike-rates/worked-out?genus=Hebe&of=genus")
    text = page.get_data(as_text=True)
    assert page.status_code == 200
    assert "leaning on the wider group" in text
    assert "learned from 14 finished batches of this nursery" in text


def test_a_square_reads_the_same_in_the_table_behind_it_and_worked_out(sign_in: SignIn) -> None:
    browser = sign_in(Role.HEAD)
    table = browser.get("/strike-rates?by=genus").get_data(as_text=True)
    href = re.search(r'href="(/strike-rates/batches\?[^"]*Hebe[^"]*)"', table)
    assert href is not None
    address = href.group(1).replace("&amp;", "&")
    behind = browser.get(address).get_data(as_text=True)
    worked = browser.get(address.replace("/batches?", "/worked-out?")).get_data(as_text=True)
    row = table[table.index("<i>Hebe</i>") :]
    assert _figure(row) == _figure(behind) == _figure(worked)


def test_an_unknown_name_is_refused(sign_in: SignIn) -> None:
    answer = sign_in(Role.HEAD).get("/strike-rates/worked-out?genus=Hebe&of=colour")
    assert answer.status_code == 422


def test_no_data_is_said(sign_in: SignIn) -> None:
    page = sign_in(Role.HEAD).get("/strike-rates/worked-out?genus=Hebe&since=2030-01-01")
    assert "No data" in page.get_data(as_text=True)
