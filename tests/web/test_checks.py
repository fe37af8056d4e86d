"""Checks as somebody types them, without script."""

from collections.abc import Callable
from secrets import token_urlsafe

import pytest
from flask.testing import FlaskClient
from sqlalchemy import func, select, text

from app.domain.cutting_types import CuttingType
from app.domain.outcomes import CheckKind
from app.domain.people import Actor, Role
from app.store.models.checks import Check
from app.store.queries.checks import StoredCheck, list_checks
from app.store.session import Database
from tests.services.batch_records import add_bench, add_plant
from tests.services.check_records import check, lost, said, stick, totals

SignIn = Callable[[Role], FlaskClient]
ADDRESS = "/batches/26-0001/checks/new"


def posted(**typed: str) -> dict[str, str]:
    usual = {
        "post_key": token_urlsafe(18),
        "version": "1",
        "checked_on": "today",
        "kind": "counted",
        "typed_as": "new",
        "ending": "",
        "rooted_means": "holds to a tug",
        "lost-0-number": "",
        "lost-0-cause": "",
        "lost-1-number": "",
        "lost-1-cause": "",
    }
    return usual | {name.replace("__", "-"): value for name, value in typed.items()}


@pytest.fixture(autouse=True)
def batch(database: Database, head: Actor) -> None:
    """Batch 26-0001 of 96, looked at by the head: 38 rooted and 11 lost 8 days ago."""
    with database.writing() as session:
        first = stick(session, head, plant=add_plant(session), bench_id=add_bench(session))
        check(session, head, first, said(8, 38, lost=lost(11)))


def stored(database: Database, batch_id: int = 1) -> tuple[StoredCheck, ...]:
    with database.reading() as session:
        return list_checks(session, batch_id=batch_id)


def counts(database: Database) -> tuple[int, int, int, int, int]:
    with database.reading() as session:
        return totals(session, Batch())


class Batch:
    id = 1
    code = "26-0001"


def test_the_form_shows_the_plant_large_and_where_the_batch_stands(sign_in: SignIn) -> None:
    page = sign_in(Role.TRAINEE).get(ADDRESS).get_data(as_text=True)
    heading = page[page.index("<h1>") : page.index("</h1>")]
    assert "26-0001" in heading
    assert "<i>Hebe</i> ‘Great Orme’" in heading
    assert "38 rooted, 47 unrooted, 11 lost" in page
    assert 'data-rooted="38" data-unrooted="47"' in page
    assert "Urgent: basal rot at the last check" in page
    assert "no caution recorded" in page
    assert "Electricity by mist and heated benches" in page
    assert "Follow the product label" in page
    assert page.count('data-sum="lost"') == 2


def test_a_count_is_saved_and_told_with_undo_and_the_next_one(
    sign_in: SignIn, database: Database, head: Actor
) -> None:
    with database.writing() as session:
        stick(session, head, plant=1)
    typed = posted(
        rooted="22",
        lost__0__number="3",
        lost__0__cause="grey mould",
        lost__1__number="1",
        lost__1__cause="slugs",
        callused="9",
        medium_c="21,5",
        humidity_percent="90",
        note="firm",
    )
    answer = sign_in(Role.TRAINEE).post(ADDRESS, data=typed)
    assert (answer.status_code, answer.location) == (303, "/batches/26-0001")
    assert counts(database) == (60, 15, 0, 0, 21)
    newest = stored(database)[-1]
    assert (newest.medium_c, newest.humidity_percent, newest.note) == (21.5, 90, "firm")
    assert (newest.checked_by, newest.rooted_means) == ("Tomas Quill", "holds to a tug")


def test_the_notice_says_what_was_saved(sign_in: SignIn, database: Database, head: Actor) -> None:
    with database.writing() as session:
        stick(session, head, plant=1)
    browser = sign_in(Role.TRAINEE)
    browser.post(ADDRESS, data=posted(rooted="22", lost__0__number="3", lost__0__cause="slugs"))
    page = browser.get("/check-plans").get_data(as_text=True)
    assert "26-0001: 22 newly rooted, 3 lost (slugs 3). 22 cuttings left unrooted." in page
    assert 'href="/checks/2"' in page
    assert 'action="/checks/2/undo/1"' in page
    assert 'href="/batches/26-0002/checks/new">Next one due: 26-0002' in page


def test_saving_leads_to_the_batch_with_its_check(sign_in: SignIn) -> None:
    browser = sign_in(Role.TRAINEE)
    answer = browser.post(ADDRESS, data=posted(rooted="22"), follow_redirects=True)
    page = answer.get_data(as_text=True)
    assert answer.request.path == "/batches/26-0001"
    assert "26-0001: 22 newly rooted. 25 cuttings left unrooted." in page
    assert page.count('href="/checks/2"') == 2  # in the notice and among the checks


def test_undo_takes_it_back(sign_in: SignIn, database: Database) -> None:
    browser = sign_in(Role.TRAINEE)
    browser.post(ADDRESS, data=posted(rooted="22"))
    answer = browser.post("/checks/2/undo/1", data={"post_key": token_urlsafe(18)})
    assert answer.status_code == 303
    assert counts(database) == (38, 11, 0, 0, 47)
    page = browser.get("/check-plans").get_data(as_text=True)
    assert "Undone. 26-0001: 47 cuttings left unrooted." in page
    other = sign_in(Role.HEAD)
    refused = other.post("/checks/2/undo/2", data={"post_key": token_urlsafe(18)})
    assert refused.status_code == 403


@pytest.mark.parametrize(
    ("typed", "kind", "rooted"),
    [
        (posted(rooted="60", typed_as="all so far"), CheckKind.COUNTED, 22),
        (posted(rooted="25", typed_as="what is left"), CheckKind.COUNTED, 22),
        (posted(rooted="2 x 12 - 2"), CheckKind.COUNTED, 22),
        (posted(rooted="0"), CheckKind.COUNTED, 0),
        (posted(kind="sample", rooted="9", looked="20"), CheckKind.SAMPLE, 9),
        (posted(kind="looked only"), CheckKind.LOOKED_ONLY, 0),
        (posted(only_looked="1"), CheckKind.LOOKED_ONLY, 0),
    ],
)
def test_every_way_of_looking(
    sign_in: SignIn, database: Database, typed: dict[str, str], kind: CheckKind, rooted: int
) -> None:
    answer = sign_in(Role.TRAINEE).post(ADDRESS, data=typed)
    assert answer.status_code == 303
    newest = stored(database)[-1]
    assert (newest.counts.kind, newest.counts.rooted) == (kind, rooted)


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"rooted": ""}, "Type how many have rooted, 0 if none."),
        ({"rooted": "many"}, "Give a number, such as"),
        ({"rooted": "48"}, "Rooted 38 and lost 11 leave 47 of 96 unrooted; with 48 newly rooted"),
        (
            {"rooted": "1", "lost__1__number": "50", "lost__1__cause": "slugs"},
            "cannot add 50 lost.",
        ),
        ({"rooted": "1", "lost__1__number": "5"}, "Choose what they were lost to"),
        ({"rooted": "1", "checked_on": "31 feb"}, "There is no such day"),
        ({"rooted": "1", "checked_on": "1 sep 2026"}, "The batch was stuck on Wed 14 October 2026"),
        ({"rooted": "1", "medium_c": "hot"}, "Give a number in °C"),
        ({"rooted": "1", "restuck_into": "26-0099"}, "There is no batch 26-0099"),
        ({"rooted": "1", "callused": "47"}, "no more than that can be callused"),
        ({"kind": "sample", "rooted": "9"}, "Say how many were looked at"),
        ({"kind": "looked only", "rooted": "9"}, "A look carries no numbers"),
        ({"only_looked": "1", "rooted": "9"}, "Save the count, or clear the numbers"),
        ({"kind": "by guess", "rooted": "9"}, "Not a valid choice"),
    ],
)
def test_a_refusal_stands_by_its_field_and_keeps_what_was_typed(
    sign_in: SignIn, database: Database, typed: dict[str, str], sentence: str
) -> None:
    answer = sign_in(Role.TRAINEE).post(ADDRESS, data=posted(note="typed long", **typed))
    page = answer.get_data(as_text=True)
    assert answer.status_code == 422
    assert "<title>Error: " in page
    assert page.count(sentence) >= 2  # on top, leading to the field, and beside it
    assert "typed long" in page
    for value in typed.values():
        assert not value or value in page or value == "by guess"  # no such choice to keep
    assert len(stored(database)) == 1


def test_missing_ones_are_asked_about_and_confirmed(sign_in: SignIn, database: Database) -> None:
    browser = sign_in(Role.TRAINEE)
    typed = posted(rooted="20", unrooted_counted="20")
    asked = browser.post(ADDRESS, data=typed).get_data(as_text=True)
    assert "27 should be left, but 20 were counted: 7 cuttings not accounted for" in asked
    assert "They are 7, and count as lost." in asked
    assert 'name="missing_confirmed"' in asked
    changed = typed | {"missing": "7", "missing_confirmed": "y", "unrooted_counted": "19"}
    again = browser.post(ADDRESS, data=changed).get_data(as_text=True)
    assert "They are 8, and count as lost." in again
    confirmed = typed | {"missing": "7", "missing_confirmed": "y"}
    assert browser.post(ADDRESS, data=confirmed).status_code == 303
    assert counts(database) == (58, 18, 0, 0, 20)
    assert stored(database)[-1].counts.lost[0].cause == "missing"


def test_a_count_too_high_says_what_to_do_and_asks_nothing(
    sign_in: SignIn, database: Database
) -> None:
    typed = posted(rooted="20", unrooted_counted="40")
    page = sign_in(Role.TRAINEE).post(ADDRESS, data=typed).get_data(as_text=True)
    assert "At most 27 can be left, but 40 were counted. Count again" in page
    assert 'name="missing_confirmed"' not in page


def test_an_ending_clears_the_batch(sign_in: SignIn, database: Database, head: Actor) -> None:
    with database.writing() as session:
        stick(session, head, plant=1, stuck=20, restuck_from_id=1)
    browser = sign_in(Role.TRAINEE)
    typed = posted(
        rooted="0", ending="cleared unrooted", ending_cause="bench needed", restuck_into="26/2"
    )
    browser.post(ADDRESS, data=typed)
    assert stored(database)[-1].restuck_into == "26-0002"
    assert counts(database) == (38, 11, 0, 47, 0)
    page = browser.get(ADDRESS).get_data(as_text=True)
    assert "The batch is cleared: 38 of 96 rooted." in page
    assert "Nothing of this batch is left unrooted." in page
    late = browser.post(ADDRESS, data=posted(rooted="1")).get_data(as_text=True)
    assert "was cleared unrooted on Wed 25 November 2026" in late


def test_more_lines_for_losses_keep_what_was_typed(sign_in: SignIn, database: Database) -> None:
    typed = posted(rooted="5", lost__0__number="2", lost__0__cause="slugs", look_again="lines")
    answer = sign_in(Role.TRAINEE).post(ADDRESS, data=typed)
    page = answer.get_data(as_text=True)
    assert answer.status_code == 200
    assert page.count('data-sum="lost"') >= 4
    assert 'value="2"' in page
    assert '<option selected value="slugs">' in page
    assert page.count('value="slugs"') == page.count('data-sum="lost"')
    assert len(stored(database)) == 1


def test_the_same_form_sent_twice_is_one_check(sign_in: SignIn, database: Database) -> None:
    browser = sign_in(Role.TRAINEE)
    typed = posted(rooted="5")
    first, second = (browser.post(ADDRESS, data=typed) for _ in range(2))
    assert (first.status_code, second.status_code) == (303, 303)
    assert len(stored(database)) == 2
    other = browser.post(ADDRESS, data=typed | {"rooted": "6"})
    assert other.status_code == 422
    assert len(stored(database)) == 2


def test_a_void_batch_has_no_form(sign_in: SignIn, database: Database) -> None:
    with database.writing() as session:
        session.execute(text("UPDATE batches SET voided_at = '2026-11-20 10:00:00'"))
    page = sign_in(Role.TRAINEE).get(ADDRESS).get_data(as_text=True)
    assert "counts nowhere, so there is nothing to check" in page
    assert 'name="rooted"' not in page


def test_an_unknown_batch_is_said_plainly(sign_in: SignIn) -> None:
    assert sign_in(Role.TRAINEE).get("/batches/26-0777/checks/new").status_code == 404


def test_a_batch_is_found_by_the_code_on_its_label(sign_in: SignIn) -> None:
    browser = sign_in(Role.TRAINEE)
    page = browser.get("/checks/new").get_data(as_text=True)
    assert "Which batch do you check?" in page
    assert "Late or due today" in page
    found = browser.get("/checks/new?code=26+1")
    assert (found.status_code, found.location) == (303, "/batches/26-0001/checks/new")
    swapped = browser.get("/checks/new?code=26-0010").get_data(as_text=True)
    assert "There is no batch 26-0010. Look at the label again." in swapped


def test_a_division_is_judged_by_being_alive(
    sign_in: SignIn, database: Database, head: Actor
) -> None:
    with database.writing() as session:
        stick(session, head, plant=1, cutting_type=CuttingType.DIVISION)
    page = sign_in(Role.TRAINEE).get("/batches/26-0002/checks/new").get_data(as_text=True)
    assert '<option selected value="alive">' in page


def test_forms_need_their_token(guarded_app: object, sign_in: SignIn, database: Database) -> None:
    answer = sign_in(Role.TRAINEE).post(ADDRESS, data=posted(rooted="5", note="kept"))
    page = answer.get_data(as_text=True)
    assert answer.status_code == 422
    assert "kept" in page
    with database.reading() as session:
        assert session.scalar(select(func.count()).select_from(Check)) == 1
