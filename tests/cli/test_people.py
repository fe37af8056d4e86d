"""`new-code NAME`: the way back in for somebody who forgot their password."""

import re

from app.domain.people import Actor
from app.services.one_time_codes import code_fits
from app.services.people import shut_out
from app.store.session import Database
from tests.cli.running import run_command
from tests.conftest import NOW


def test_the_code_works_for_that_person(database: Database) -> None:
    answer = run_command("new-code", "ines FARROW", data=database.path.parent)
    assert (answer.code, answer.err) == (0, "")
    code = re.search(r"One-time code for Ines Farrow: ((?:[A-Z2-9]{4}-){2}[A-Z2-9]{4})", answer.out)
    assert code
    with database.reading() as session:
        assert code_fits(session, code=code[1], account_id=1, now=NOW)
        assert not code_fits(session, code=code[1], account_id=2, now=NOW)


def test_a_name_that_does_not_sign_in_is_refused(database: Database) -> None:
    answer = run_command("new-code", "Nobody Here", data=database.path.parent)
    assert answer.code == 1
    assert 'Nobody called "Nobody Here" signs in here' in answer.err


def test_somebody_stopped_from_signing_in_gets_none(database: Database, head: Actor) -> None:
    with database.writing() as session:
        shut_out(session, actor=head, now=NOW, key="key-of-trainee")
    answer = run_command("new-code", "Tomas Quill", data=database.path.parent)
    assert answer.code == 1
    assert "Let them in again first" in answer.err
