"""Protected varieties: what was raised of each by year."""

import csv
import io
from collections.abc import Callable
from datetime import date

import pytest
from flask.testing import FlaskClient

from app.domain.people import Actor, Role
from app.services.batches import void_batch
from app.services.checks import withdraw_check
from app.store.models.plant_names import PlantNameRow
from app.store.queries.licences import list_licence_counts
from app.store.session import Database
from tests.conftest import NOW, TODAY
from tests.services.batch_records import add_plant
from tests.services.check_records import check, lost, said, stick

SignIn = Callable[[Role], FlaskClient]


@pytest.fixture(autouse=True)
def records(database: Database, head: Actor) -> None:
    """A licensed Hebe of two years, a protected one without licence, and a free one."""
    with database.writing() as session:
        hebe, rose, free = (
            add_plant(session, plain)
            for plain in ("Hebe 'Invented'", "Rosa 'Unheard Of'", "Salix alba")
        )
        session.get_one(PlantNameRow, hebe).rights_licence = "L-77"
        session.get_one(PlantNameRow, hebe).rights_until = date(2031, 12, 31)
        session.get_one(PlantNameRow, rose).rights_grant = "EU 1234"
        old = stick(session, head, plant=hebe, stuck=100, stuck_on=date(2025, 11, 20))
        new = stick(session, head, plant=hebe, stuck=200, stuck_on=date(2026, 9, 1))
        check(session, head, old, said(336, 30))  # 24 December 2025
        check(session, head, old, said(300, 20, lost=lost(50)))
        check(session, head, new, said(30, 90))
        wrong = check(session, head, new, said(20, 5))
        withdraw_check(
            session,
            actor=head,
            now=NOW,
            check_id=wrong.check_id,
            version=wrong.version,
            reason="another batch",
        )
        stick(session, head, plant=hebe, stuck=40, stuck_on=TODAY, restuck_from_id=new.id)
        void = stick(session, head, plant=hebe, stuck=500)
        void_batch(session, actor=head, today=TODAY, now=NOW, batch_id=void.id, reason="twice")
        stick(session, head, plant=free, stuck=60)


def test_each_year_counts_what_was_stuck_and_what_was_found_rooted(database: Database) -> None:
    with database.reading() as session:
        counts = list_licence_counts(session)
    assert [count.plant.plant for count in counts] == ["Hebe 'Invented'", "Rosa 'Unheard Of'"]
    assert [(one.year, one.stuck, one.rooted) for one in counts[0].years] == [
        (2026, 200, 110),
        (2025, 100, 30),
    ]
    assert counts[1].years == ()
    assert not counts[0].plant.without_licence(TODAY)
    assert counts[1].plant.without_licence(TODAY)


def test_the_page_and_the_sheet_say_the_same(sign_in: SignIn) -> None:
    browser = sign_in(Role.MANAGER)
    page = " ".join(browser.get("/licences").get_data(as_text=True).split())
    assert "Licence L-77. Protected until" in page
    assert '<th scope="row">2026</th><td data-head="Stuck" class="number">200</td>' in page
    assert "<b>No licence is recorded</b> for" in page
    answer = browser.get("/licences/sheet.csv")
    rows = list(csv.reader(io.StringIO(answer.data.decode("utf-8-sig"))))
    assert rows == [
        ["plant", "grant", "licence", "until", "year", "stuck", "rooted"],
        ["Hebe 'Invented'", "", "L-77", "2031-12-31", "2026", "200", "110"],
        ["Hebe 'Invented'", "", "L-77", "2031-12-31", "2025", "100", "30"],
    ]
    assert sign_in(Role.TRAINEE).get("/licences/sheet.csv").status_code == 403


def test_without_rights_the_page_says_what_will_be_here(
    sign_in: SignIn, database: Database
) -> None:
    with database.writing() as session:
        for name in session.query(PlantNameRow):
            name.rights_licence = name.rights_grant = ""
            name.rights_until = None
    page = sign_in(Role.TRAINEE).get("/licences").get_data(as_text=True)
    assert "No plant name has rights on it." in page
