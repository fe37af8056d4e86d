"""Checks corrected and withdrawn as somebody types them, without script."""

from collections.abc import Callable
from secrets import token_urlsafe

import pytest
from flask.testing import FlaskClient
from sqlalchemy import text

from app.domain.outcomes import Ending
from app.domain.people import Actor, Role
from app.store.queries.checks import StoredCheck, list_checks
from app.store.session import Database
from tests.services.batch_records import add_bench, add_plant
from tests.services.check_records import check, day, lost, said, stick, totals

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


def test_a_correction_keeps_the_old_version_readable(sign_in: SignIn, database: Database) -> None:
    browser = sign_in(Role.HEAD)
    page = browser.get("/checks/1/correct").get_data(as_text=True)
    assert 'value="38"' in page
    assert 'value="Tue 17 November 2026"' in page
    assert '<option selected value="">not recorded</option>' in page  # what counted as rooted
    assert "Before it, 0 were rooted, 0 lost and 96 unrooted." in page
    typed = posted(
        rooted="35",
        checked_on="Tue 17 November 2026",
        lost__0__number="11",
        lost__0__cause="slugs",
        reason="one tray twice",
    )
    answer = browser.post("/checks/1/correct", data=typed)
    assert answer.status_code == 303
    assert counts(database) == (35, 11, 0, 0, 50)
    shown = browser.get("/checks/1").get_data(as_text=True)
    assert "Corrected. 26-0001: 35 newly rooted" in shown
    assert "38 newly rooted, 11 lost (basal rot 11)" in shown
    assert "one tray twice" in shown
    assert "Version 2, counts now." in shown
    undone = browser.post("/checks/1/undo/2", data={"post_key": token_urlsafe(18)})
    assert undone.status_code == 303
    assert counts(database) == (38, 11, 0, 0, 47)


def test_a_correction_is_refused_with_the_later_check_and_keeps_typed_values(
    sign_in: SignIn, database: Database, head: Actor
) -> None:
    with database.writing() as session:
        check(session, head, Batch(), said(2, 40))  # type: ignore[arg-type]
    typed = posted(
        rooted="60", checked_on="-8", reason="recount", lost__0__number="11", lost__0__cause="slugs"
    )
    answer = sign_in(Role.HEAD).post("/checks/1/correct", data=typed)
    page = answer.get_data(as_text=True)
    assert answer.status_code == 422
    assert "the check of Mon 23 November 2026 would no longer add up" in page
    assert 'value="60"' in page
    assert 'value="recount"' in page


def test_a_correction_without_a_reason_is_asked_for_one(sign_in: SignIn) -> None:
    page = sign_in(Role.HEAD).post("/checks/1/correct", data=posted(rooted="5", checked_on="-8"))
    assert page.get_data(as_text=True).count("Say in a few words why") == 2


def test_the_second_editor_chooses_between_both(sign_in: SignIn, database: Database) -> None:
    browser = sign_in(Role.HEAD)
    first = posted(rooted="35", checked_on="-8", reason="one")
    second = posted(rooted="36", checked_on="-8", reason="two")
    assert browser.post("/checks/1/correct", data=first).status_code == 303
    told = browser.post("/checks/1/correct", data=second)
    page = told.get_data(as_text=True)
    assert told.status_code == 409
    assert "Somebody else changed this meanwhile" in page
    assert "<td>35</td><td>36</td>" in page
    over = second | {"version": "2", "post_key": token_urlsafe(18)}
    assert browser.post("/checks/1/correct", data=over).status_code == 303
    assert counts(database)[0] == 36


def test_a_check_is_withdrawn_with_a_reason(sign_in: SignIn, database: Database) -> None:
    browser = sign_in(Role.HEAD)
    assert "Withdraw the check of Tue 17 Nov" in browser.get("/checks/1/withdraw").get_data(
        as_text=True
    )
    bare = browser.post("/checks/1/withdraw", data=posted())
    assert bare.status_code == 422
    done = browser.post("/checks/1/withdraw", data=posted(reason="another batch"))
    assert done.status_code == 303
    assert counts(database) == (0, 0, 0, 0, 96)
    shown = browser.get("/checks/1").get_data(as_text=True)
    assert "withdrawn, it counts nowhere" in shown
    assert "another batch" in shown
    stale = browser.post("/checks/1/withdraw", data=posted(reason="again"))
    assert stale.status_code == 409


def test_trainees_correct_their_own_and_managers_none(sign_in: SignIn, database: Database) -> None:
    trainee = sign_in(Role.TRAINEE)
    assert "Correct it" not in trainee.get("/checks/1").get_data(as_text=True)
    for address in ("/checks/1/correct", "/checks/1/withdraw"):
        assert trainee.get(address).status_code == 403
        assert trainee.post(address, data=posted(rooted="5", reason="x")).status_code == 403
    trainee.post(ADDRESS, data=posted(rooted="5"))
    assert "Correct it" in trainee.get("/checks/2").get_data(as_text=True)
    own = posted(rooted="6", reason="miscounted")
    assert trainee.post("/checks/2/correct", data=own).status_code == 303
    assert counts(database)[0] == 44
    manager = sign_in(Role.MANAGER)
    assert manager.get("/checks/2").status_code == 200
    for address in (ADDRESS, "/checks/2/correct", "/checks/2/withdraw", "/checks/new"):
        assert manager.get(address).status_code == 403


def test_retired_causes_stay_with_the_check_that_names_them(
    sign_in: SignIn, database: Database
) -> None:
    with database.writing() as session:
        session.execute(
            text("UPDATE lost_causes SET retired_at = '2026-11-01' WHERE name = 'basal rot'")
        )
    browser = sign_in(Role.HEAD)
    assert '<option value="basal rot">' not in browser.get(ADDRESS).get_data(as_text=True)
    page = browser.get("/checks/1/correct").get_data(as_text=True)
    assert '<option selected value="basal rot">' in page


def test_an_ending_is_told_on_the_correction_page(
    sign_in: SignIn, database: Database, head: Actor
) -> None:
    with database.writing() as session:
        ended = said(1, 2, ending=Ending.DUMPED, ending_cause="rot everywhere")
        check(session, head, Batch(), ended)  # type: ignore[arg-type]
    page = sign_in(Role.HEAD).get("/checks/2/correct").get_data(as_text=True)
    assert 'value="rot everywhere"' in page
    assert f"{day(1):%a}" in page
