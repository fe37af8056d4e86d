"""The round as it is written: which batches, in which order, and what each form carries."""

import re
from collections.abc import Callable
from datetime import timedelta
from secrets import token_urlsafe

import pytest
from flask.testing import FlaskClient

from app.domain.cutting_types import CuttingType
from app.domain.people import Actor, Role
from app.domain.treatments import TreatmentEntry, TreatmentKind
from app.services.treatments import record_treatment
from app.store.queries.checks import list_checks
from app.store.session import Database
from app.web.pages import rounds
from tests.conftest import NOW, TODAY
from tests.services.batch_records import add_bench, add_container, add_plant, days_ago
from tests.services.check_records import Stuck, check, said, stick

SignIn = Callable[[Role], FlaskClient]


@pytest.fixture(autouse=True)
def _batches(database: Database, head: Actor) -> None:
    """26-0001 and 26-0003 late on the first bench, 26-0002 on the second; 26-0004 not due yet."""
    with database.writing() as session:
        plant = add_plant(session)
        near, far = add_bench(session), add_bench(session, "Cold frame A")
        tray = add_container(session, plugs=84)
        for bench in (near, far, near):
            stick(
                session,
                head,
                plant=plant,
                bench_id=bench,
                container_id=tray,
                cutting_type=CuttingType.SOFTWOOD,
            )
        stick(session, head, plant=plant, bench_id=near, stuck_on=days_ago(1))


def codes(page: str) -> list[str]:
    return re.findall(r'data-round-batch="([^"]+)"', page)


def shown(client: FlaskClient, address: str = "/round") -> str:
    answer = client.get(address)
    assert answer.status_code == 200
    return answer.get_data(as_text=True)


def test_late_and_due_batches_come_bench_by_bench(sign_in: SignIn) -> None:
    page = shown(sign_in(Role.TRAINEE))
    assert codes(page) == ["26-0002", "26-0001", "26-0003"]


def test_one_bench_alone(sign_in: SignIn) -> None:
    client = sign_in(Role.TRAINEE)
    page = shown(client, "/round?bench=2")
    assert codes(page) == ["26-0002"]
    assert 'href="/benches/2/walk"' in page
    assert "/batches/26-0002/checks/new?round=yes&amp;bench=2" in page
    assert client.get("/round?bench=9").status_code == 404


def test_a_batch_of_a_code_comes_first(sign_in: SignIn) -> None:
    page = shown(sign_in(Role.TRAINEE), "/round?first=26-4")
    assert codes(page)[0] == "26-0004"
    assert len(codes(page)) == 4
    again = shown(sign_in(Role.TRAINEE), "/round?first=26-0003")
    assert codes(again)[0] == "26-0003"
    assert len(codes(again)) == 3


def test_a_code_with_nothing_left_says_so(sign_in: SignIn, database: Database, head: Actor) -> None:
    with database.writing() as session:
        done = stick(session, head, plant=1)
        check(session, head, done, said(1, 96))
    page = shown(sign_in(Role.TRAINEE), "/round?first=26-0005")
    assert "Nothing of 26-0005 is left to check" in page


def test_a_form_carries_what_a_check_wants(sign_in: SignIn, database: Database) -> None:
    client = sign_in(Role.TRAINEE)
    page = shown(client)
    assert 'data-tray="84"' in page
    form = page[page.index('data-round-batch="26-0001"') :].split("</form>")[0]
    hidden = dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', form))
    typed = hidden | {"rooted": "12", "typed_as": "new", "lost-0-number": "3"}
    typed["lost-0-cause"] = "basal rot"
    answer = client.post("/batches/26-0001/checks/new?round=yes", data=typed)
    assert answer.status_code == 303
    assert answer.location == "/round"
    with database.reading() as session:
        (found,) = list_checks(session, batch_id=1)
    assert (found.counts.checked_on, found.counts.rooted) == (TODAY, 12)
    assert found.counts.lost_in_all == 3
    assert found.rooted_means == "plug lifts whole"
    told = client.get("/round").get_data(as_text=True)
    assert "26-0001: 12 newly rooted" in told
    assert "Undo" in told


def test_a_check_on_the_round_of_a_bench_leads_back_there(sign_in: SignIn) -> None:
    client = sign_in(Role.TRAINEE)
    typed = {"post_key": token_urlsafe(18), "version": "1", "checked_on": "today"}
    typed |= {"kind": "counted", "typed_as": "new", "ending": "", "only_looked": "1"}
    answer = client.post("/batches/26-0002/checks/new?round=yes&bench=2", data=typed)
    assert answer.location == "/round?bench=2"


def test_keep_out_warnings_stand_by_the_batch(
    sign_in: SignIn, database: Database, head: Actor
) -> None:
    entry = TreatmentEntry(
        kind=TreatmentKind.PLANT_PROTECTION,
        what="Fungicide as on its label",
        rate="2 g in 10 litres",
        begun_at=NOW - timedelta(hours=2),
        reentry_at=NOW + timedelta(hours=10),
        bench_ids=(2,),
        by_id=1,
    )
    with database.writing() as session:
        record_treatment(session, actor=head, now=NOW, zone="UTC", entry=entry)
    page = shown(sign_in(Role.TRAINEE))
    assert page.count("Keep out") == 1
    assert "Keep out" in page[page.index('data-round-batch="26-0002"') :]


def test_a_long_round_is_cut_and_says_how_many_are_left(
    sign_in: SignIn, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(rounds, "MOST", 2)
    page = shown(sign_in(Role.TRAINEE))
    assert len(codes(page)) == 2
    assert "1 more are late or due" in page


def test_nothing_due_says_what_to_do(sign_in: SignIn, database: Database, head: Actor) -> None:
    with database.writing() as session:
        for code in ("26-0001", "26-0002", "26-0003"):
            check(session, head, Stuck(id=int(code[-1]), code=code), said(0, 96))
    page = shown(sign_in(Role.TRAINEE))
    assert "Nothing is late or due. Another batch can be checked by its code, below." in page
