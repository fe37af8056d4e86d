"""What a batch was made of, typed and shown without script."""

from collections.abc import Callable

import pytest
from flask.testing import FlaskClient

from app.domain.people import Role
from app.services.exports import ExportKind, export_rows
from app.store.session import Database
from tests.web.batch_pages import problems_of, set_up_nursery, six, stick, story, text_of

SignIn = Callable[[Role], FlaskClient]
COLLECTED = {
    "sources-0-kind": "collected",
    "sources-0-place": "the old hedge  by Mill Lane",
    "sources-0-permitted_by": "Harrow Estate",
    "sources-0-permit": "letter 14",
    "sources-0-number": "100",
}


@pytest.fixture(autouse=True)
def _nursery(database: Database) -> None:
    set_up_nursery(database)


@pytest.fixture
def browser(sign_in: SignIn) -> FlaskClient:
    return sign_in(Role.TRAINEE)


def test_collected_material_and_the_hours_of_each_step(
    browser: FlaskClient, database: Database
) -> None:
    stick(
        browser, taken="100", thrown_out="4", thrown_out_cause="too thin", taken_on="-3",
        stored_hours="3 days", gathered_by="1", gathered_hours="1", made_by="2", made_hours="2,5",
        **COLLECTED,
    )  # fmt: skip
    entry = story(database).entry
    (line,) = entry.sources
    assert (line.place, line.permitted_by, line.permit) == (
        "the old hedge by Mill Lane",
        "Harrow Estate",
        "letter 14",
    )
    assert (entry.stored_hours, entry.gathered_hours, entry.made_hours) == (72, 1, 2.5)
    page = text_of(browser.get("/batches/26-0001"))
    assert "by Ines Farrow in 1 hour, 4 thrown out at making (too thin)" in page
    assert "stored 3 days" in page
    assert "made by Tomas Quill in 2.5 hours" in page
    assert "the old hedge by Mill Lane, with leave of Harrow Estate (letter 14)" in page
    again = browser.get("/batches/26-0001/edit").text
    assert 'value="3 days"' in again
    assert 'value="letter 14"' in again


def test_sources_add_up_to_what_was_taken(browser: FlaskClient) -> None:
    typed = six(taken="120", **COLLECTED)
    answer = browser.post("/batches/new", data=typed)
    assert answer.status_code == 422
    assert "The sources give 100 together, but 120 were taken." in problems_of(answer.text)[0]
    assert 'value="letter 14"' in answer.text


def test_leave_is_asked_for_where_it_is_not_recorded(browser: FlaskClient) -> None:
    stick(browser, **{"sources-0-kind": "collected", "sources-0-number": "90"})
    page = text_of(browser.get("/batches/26-0001"))
    assert "Collect only with the owner&#39;s leave" in page
    assert "The sources give 90 together, but 96 were stuck." in page


def test_what_is_typed_wrongly_is_said_by_its_field(browser: FlaskClient) -> None:
    answer = browser.post(
        "/batches/new",
        data=six(
            stored_hours="3 moons",
            made_hours="x",
            **{"sources-0-kind": "bought in", "sources-0-permit": "letter 14"},
        ),
    )
    hours, stored = problems_of(answer.text)
    assert "hours" in hours
    assert "3 days or 2 weeks" in stored
    answer = browser.post(
        "/batches/new",
        data=six(**{"sources-0-kind": "bought in", "sources-0-permit": "letter 14"}),
    )
    assert ["collected" in sentence for sentence in problems_of(answer.text)] == [True]


def test_a_sheet_has_the_new_columns_last(browser: FlaskClient, database: Database) -> None:
    stick(browser, taken="100", thrown_out="4", thrown_out_cause="wilted", made_hours="2")
    header, line = list(export_rows(database.reading, kind=ExportKind.BATCHES))
    assert header[-4:] == ("sources", "thrown_out_cause", "gathered_hours", "made_hours")
    assert line[-3:] == ("wilted", None, 2.0)
