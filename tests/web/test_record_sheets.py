"""Sheets of records read in by page: taken out, changed, looked over, written."""

from collections.abc import Callable

from flask.testing import FlaskClient

from app.domain.people import Role
from app.services.sheet_kinds import SHEET_KINDS
from tests.web.test_imports import send

SignIn = Callable[[Role], FlaskClient]


def test_a_sheet_of_benches_is_shown_written_and_told(sign_in: SignIn) -> None:
    client = sign_in(Role.HEAD)
    answer = send(client, "bench,capacity_trays\nFar bench,8\nNear bench,x\n", name="benches.csv")
    assert (answer.status_code, answer.location) == (303, "/records/import/1")
    page = client.get("/records/import/1").text
    assert "benches.csv, a sheet of benches, read in" in page
    assert "1 line is wrong, 1 can be written" in page
    assert "“x” is no whole number" in page
    assert "Is it another notebook?" not in page
    assert "Far bench" not in client.get("/benches").text
    refused = client.post("/records/import/1/write")
    assert refused.status_code == 422
    assert "Nothing was written: 1 line is wrong" in refused.text
    answer = client.post("/records/import/1/write", data={"skip": "wrong"})
    assert answer.status_code == 303
    page = client.get("/records/import/1").text
    assert "1 record added, 1 wrong line left out." in page
    assert "Far bench" in client.get("/benches").text


def test_a_sheet_taken_out_and_changed_comes_back_as_one_correction(sign_in: SignIn) -> None:
    client = sign_in(Role.HEAD)
    send(client, "bench,note\nFar bench,old\nNear bench,\n", name="first.csv")
    client.post("/records/import/1/write")
    sheet = client.get("/records/export/benches.csv").data
    send(client, sheet.replace(b"old", b"swept"), name="second.csv")
    page = client.get("/records/import/2").text
    assert "1 line can be written" in page
    assert "old in the log becomes swept." in page
    client.post("/records/import/2/write")
    assert "1 record corrected." in client.get("/records/import/2").text
    assert "sheet" in client.get("/records/history").text
    send(client, client.get("/records/export/benches.csv").data, name="third.csv")
    assert "The log says the same already" in client.get("/records/import/3").text


def test_what_others_changed_meanwhile_is_looked_over_first(sign_in: SignIn) -> None:
    client = sign_in(Role.HEAD)
    send(client, "bench\nFar bench\n", name="one.csv")
    send(client, "bench\nFar bench\n", name="two.csv")
    client.post("/records/import/2/write")
    answer = client.post("/records/import/1/write")
    assert answer.location == "/records/import/1"
    page = client.get("/records/import/1").text
    assert "The log was changed since this sheet was laid beside it." in page
    assert "The log says the same already" in page


def test_the_page_names_every_kind(sign_in: SignIn) -> None:
    page = sign_in(Role.HEAD).get("/records/import").text
    for name, kind in SHEET_KINDS.items():
        assert f"{name.replace('-', ' ').capitalize()}: by <b>{kind.key}</b>" in page


def test_a_nearly_right_heading_is_told_beside_the_file(sign_in: SignIn) -> None:
    answer = send(sign_in(Role.HEAD), "bench,capacity_tray\nFar bench,8\n")
    assert answer.status_code == 422
    assert "“capacity_tray” is no column. Write capacity_trays if that is meant" in answer.text
