"""Reading a sheet in by page: sent, looked over on the server, written or put aside."""

import io
from collections.abc import Callable
from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlalchemy import func, select
from werkzeug.test import TestResponse

from app.domain.people import Actor, Role
from app.services.verifying import verify_log
from app.store.models.batches import Batch
from app.store.models.import_stages import ImportStage, ImportStageLine
from app.store.session import Database
from tests.formats import hostile_files
from tests.services.notebook_imports import write

SignIn = Callable[[Role], FlaskClient]
BARTLETT = Path(__file__).parents[1] / "data" / "bartlett_notebook.csv"
WRONG = """batch,plant,stuck_on,stuck,bench,checked_on,rooted,weather
C1,Prunus domestica,2026-05-01,100,Bench 9,2026-06-01,30,dry
C2,Prunus domestica,2026-05-32,100,,2026-06-01,30,
C3,Prunus domestica,2026-05-01,100,,2026-06-01,130,
C4,Rosa,2026-05-01,100,,2026-06-01,30,
"""


def send(
    client: FlaskClient, data: bytes | str, *, name: str = "notebook.csv", reference: str = ""
) -> TestResponse:
    content = data.encode() if isinstance(data, str) else data
    return client.post(
        "/records/import",
        data={"sheet": (io.BytesIO(content), name), "reference": reference},
        content_type="multipart/form-data",
    )


def batches(database: Database) -> int:
    with database.reading() as session:
        return session.scalar(select(func.count()).select_from(Batch)) or 0


def test_the_page_says_what_a_sheet_holds(sign_in: SignIn) -> None:
    page = sign_in(Role.HEAD).get("/records/import").text
    assert "Nothing is written before you have looked over what it would do." in page
    assert "unrooted_counted" in page
    assert 'enctype="multipart/form-data"' in page


def test_a_sheet_is_shown_before_it_is_written(sign_in: SignIn, database: Database) -> None:
    client = sign_in(Role.HEAD)
    answer = send(client, BARTLETT.read_bytes(), name="bartlett.csv")
    assert (answer.status_code, answer.location) == (303, "/records/import/1")
    page = client.get("/records/import/1").text
    assert "4 lines can be written" in page
    assert "Prunus domestica" in page
    assert "<dt>Mixes</dt><dd>long; short</dd>" in page
    assert "of the notebook called bartlett" in page
    assert batches(database) == 0
    answer = client.post("/records/import/1/write")
    assert (answer.status_code, answer.location) == (303, "/records/import/1")
    page = client.get("/records/import/1").text
    assert "bartlett.csv was written" in page
    assert "4 batches made, 4 checks recorded" in page
    assert batches(database) == 4
    with database.reading() as session:
        assert list(verify_log(session)) == []
        assert session.scalar(select(func.count()).select_from(ImportStageLine)) == 0


def test_wrong_lines_say_line_column_and_what_to_put(sign_in: SignIn) -> None:
    client = sign_in(Role.HEAD)
    send(client, WRONG)
    page = client.get("/records/import/1").text
    assert "2 lines are wrong, 2 can be written" in page
    assert "“2026-05-32” is no day with its year" in page
    assert '<th scope="row">Line 3</th>' in page
    assert "<b>rooted</b>: Rooted 0 and lost 0 leave 100 of 100 unrooted" in page
    assert "Columns that are not read: weather." in page
    minded = client.get("/records/import/1?show=to+look+at").text
    assert "Rosa: Only the genus is given" in minded
    new = client.get("/records/import/1?show=new").text
    assert "Bench 9" in new


def test_two_wrong_lines_are_left_out_when_the_person_says_so(
    sign_in: SignIn, database: Database
) -> None:
    client = sign_in(Role.HEAD)
    send(client, WRONG)
    refused = client.post("/records/import/1/write")
    assert refused.status_code == 422
    assert "Nothing was written: 2 lines are wrong" in refused.text
    assert batches(database) == 0
    answer = client.post("/records/import/1/write", data={"skip": "wrong"})
    assert answer.status_code == 303
    assert "2 wrong lines left out" in client.get("/records/import/1").text
    assert batches(database) == 2


def test_a_sheet_can_be_put_aside(sign_in: SignIn, database: Database) -> None:
    client = sign_in(Role.HEAD)
    send(client, WRONG)
    assert client.post("/records/import/1/put-aside").status_code == 303
    page = client.get("/records/import").text
    assert "The sheet is put aside. Nothing of it was written." in page
    answer = client.post("/records/import/1/write", data={"skip": "wrong"})
    assert answer.status_code == 422
    assert "This sheet was put aside already" in answer.text
    assert batches(database) == 0
    with database.reading() as session:
        assert session.scalar(select(func.count()).select_from(ImportStageLine)) == 0


def test_reading_it_again_says_there_is_nothing_to_write(
    sign_in: SignIn, database: Database, head: Actor
) -> None:
    write(database, BARTLETT.read_text(), actor=head, reference="bartlett")
    client = sign_in(Role.HEAD)
    send(client, BARTLETT.read_bytes(), name="bartlett.csv")
    page = client.get("/records/import/1").text
    assert "The log says the same already" in page
    assert "Write all of it" not in page


def test_changed_lines_show_what_was_and_would_be(
    sign_in: SignIn, database: Database, head: Actor
) -> None:
    write(database, BARTLETT.read_text(), actor=head, reference="bartlett")
    client = sign_in(Role.HEAD)
    changed = BARTLETT.read_text().replace("156,84", "150,90")
    send(client, changed, name="bartlett.csv")
    page = client.get("/records/import/1").text
    assert "1 line can be written" in page
    assert "<b>rooted</b>: 156 in the log becomes 150." in page
    assert "<b>lost</b>: 84 not known in the log becomes 90 not known." in page


def test_the_name_of_the_notebook_can_be_put_right(
    sign_in: SignIn, database: Database, head: Actor
) -> None:
    write(database, BARTLETT.read_text(), actor=head, reference="plums 1935")
    client = sign_in(Role.HEAD)
    send(client, BARTLETT.read_bytes(), name="download(3).csv")
    page = client.get("/records/import/1").text
    assert "4 to look at" in page
    assert "has 25-0001 (long now of plums 1935) with the same plant, day and number" in page
    answer = client.post("/records/import/1/name", data={"reference": "plums  1935"})
    assert answer.status_code == 303
    page = client.get("/records/import/1").text
    assert "The notebook is called plums 1935 now." in page
    assert "The log says the same already" in page


def test_the_name_may_be_given_with_the_file(sign_in: SignIn) -> None:
    client = sign_in(Role.HEAD)
    send(client, BARTLETT.read_bytes(), reference=" plums  1935 ")
    assert "of the notebook called plums 1935" in client.get("/records/import/1").text


def test_what_changed_meanwhile_is_shown_and_not_written_unseen(
    sign_in: SignIn, database: Database, head: Actor
) -> None:
    client = sign_in(Role.HEAD)
    send(client, BARTLETT.read_bytes(), name="bartlett.csv")
    half = "\n".join(BARTLETT.read_text().splitlines()[:7])
    write(database, half, actor=head, reference="bartlett")
    answer = client.post("/records/import/1/write")
    assert answer.status_code == 303
    page = client.get("/records/import/1").text
    assert "The log was changed since this sheet was laid beside it." in page
    assert "2 lines can be written" in page
    assert batches(database) == 2
    assert client.post("/records/import/1/write").status_code == 303
    assert batches(database) == 4


def test_the_button_pressed_twice_writes_once(sign_in: SignIn, database: Database) -> None:
    client = sign_in(Role.HEAD)
    send(client, BARTLETT.read_bytes())
    key = {"post_key": "k" * 24}
    first = client.post("/records/import/1/write", data=key)
    second = client.post("/records/import/1/write", data=key)
    assert (first.status_code, second.status_code) == (303, 303)
    assert batches(database) == 4


def test_five_thousand_lines_are_looked_over_on_the_server(
    sign_in: SignIn, database: Database
) -> None:
    rows = (
        f"L{number // 5},{'Prunus domestica,2026-05-01,200' if number % 5 == 0 else ',,'},"
        f"2026-06-{number % 5 + 1:02d},{number % 7}"
        for number in range(5_000)
    )
    sheet = "\n".join(["batch,plant,stuck_on,stuck,checked_on,rooted", *rows])
    client = sign_in(Role.HEAD)
    assert send(client, sheet).status_code == 303
    page = client.get("/records/import/1").text
    assert "5,000 lines can be written" in page
    assert page.count('<th scope="row">Line ') == 50
    assert "Lines 2 to 51" in page
    second = client.get("/records/import/1?show=new&after=51").text
    assert "Lines 52 to 101" in second
    assert client.post("/records/import/1/write").status_code == 303
    assert batches(database) == 1_000
    with database.reading() as session:
        assert list(verify_log(session)) == []


def test_one_line_too_many_for_the_page(sign_in: SignIn) -> None:
    sheet = "batch,plant,stuck_on,stuck\n" + "A,Rosa canina,2026-05-01,1\n" * 5_001
    answer = send(sign_in(Role.HEAD), sheet)
    assert answer.status_code == 422
    assert "more than 5,000 lines" in answer.text


HOSTILE: list[tuple[Callable[[], bytes], str, str]] = [
    (hostile_files.far_cell, "a.xlsx", "far outside the lines"),
    (hostile_files.bomb, "a.xlsx", "unpacks to more"),
    (hostile_files.entity_bomb, "a.xlsx", "not written by a spreadsheet program"),
    (hostile_files.truncated, "a.xlsx", "damaged or cut short"),
    (hostile_files.text_bomb, "a.xlsx", "more than a notebook"),
    (bytes, "a.csv", "This file is empty."),
    (lambda: b" ", "a.csv", "This file is empty."),
    (hostile_files.harmless, "a.csv", "not a CSV sheet"),
    (lambda: b"x", "a.exe", "ends in .csv or .xlsx"),
    (lambda: b"name,number\nx,1", "a.csv", "The column batch is missing."),
]


@pytest.mark.parametrize(("build", "name", "sentence"), HOSTILE)
def test_hostile_files_are_refused_in_a_sentence(
    sign_in: SignIn, build: Callable[[], bytes], name: str, sentence: str
) -> None:
    client = sign_in(Role.HEAD)
    data = build()
    answer = send(client, data, name=name)
    assert answer.status_code == 422
    assert sentence in answer.text
    assert 'id="sheet-error"' in answer.text


def test_files_over_two_megabytes_are_refused(
    sign_in: SignIn, monkeypatch: pytest.MonkeyPatch
) -> None:
    client = sign_in(Role.HEAD)
    size = {"CONTENT_LENGTH": str(3 * 1024 * 1024)}
    assert client.post("/records/import", environ_overrides=size).status_code == 413
    monkeypatch.setattr("app.web.pages.imports.SHEET_BYTES", 1_000)
    answer = send(client, b"x" * 1_001)
    assert answer.status_code == 422
    assert "larger than 2 MB" in answer.text


def test_no_file_at_all(sign_in: SignIn) -> None:
    answer = sign_in(Role.HEAD).post("/records/import", data={"reference": "x"})
    assert answer.status_code == 422
    assert "Choose the sheet first." in answer.text


def test_a_token_that_does_not_hold_writes_nothing(
    guarded_app: Flask, sign_in: SignIn, database: Database
) -> None:
    client = sign_in(Role.HEAD)
    answer = send(client, BARTLETT.read_bytes())
    assert answer.status_code == 422
    assert "open too long" in answer.text
    assert client.post("/records/import/1/write").status_code in {404, 422}
    with database.reading() as session:
        assert session.scalar(select(func.count()).select_from(ImportStage)) == 0


@pytest.mark.parametrize("role", [Role.TRAINEE, Role.MANAGER])
def test_only_the_head_reads_sheets_in(sign_in: SignIn, role: Role) -> None:
    client = sign_in(role)
    assert client.get("/records/import").status_code == 403
    assert send(client, BARTLETT.read_bytes()).status_code == 403
    assert client.post("/records/import/1/write").status_code == 403


def test_a_sheet_that_is_not_there(sign_in: SignIn) -> None:
    client = sign_in(Role.HEAD)
    assert client.get("/records/import/7").status_code == 404
    assert client.post("/records/import/7/write").status_code == 404
