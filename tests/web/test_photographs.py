"""Photographs by page: sent, shown small and large, refused in words, withdrawn."""

import io
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from werkzeug.datastructures import FileStorage, MultiDict
from werkzeug.test import TestResponse, stream_encode_multipart

from app.domain.people import Actor, Role
from app.formats import pictures
from app.services.photographs import withdraw_photograph
from app.settings import PHOTOGRAPH_BYTES
from app.store.queries.photographs import KeptPhotograph, list_photographs
from app.store.session import Database
from tests.conftest import NOW, TODAY
from tests.formats.sent_pictures import REFUSED, from_a_phone
from tests.services.batch_records import add_plant, add_stock_plant
from tests.services.check_records import check, said, stick

SignIn = Callable[[Role], FlaskClient]


@pytest.fixture
def looked(database: Database, head: Actor) -> str:
    """A batch with a check, and a stock plant; the address of a new photograph of the check."""
    with database.writing() as session:
        batch = stick(session, head)
        add_stock_plant(session, add_plant(session, "Salvia officinalis"))
        found = check(session, head, batch, said(1, rooted=3))
    return f"/checks/{found.check_id}/photographs/new"


def send(
    client: FlaskClient, address: str, content: bytes, *, by: str = "picture", **more: Any
) -> TestResponse:
    data = {by: FileStorage(io.BytesIO(content), "IMG 1.jpg"), "taken_on": "today"} | more
    # Written into the memory: the client itself would leave a large one in an open file.
    stream, length, border = stream_encode_multipart(MultiDict(data), use_tempfile=False)
    return client.post(
        address,
        input_stream=stream,
        content_length=length,
        content_type=f"multipart/form-data; boundary={border}",
    )


def kept(database: Database) -> tuple[KeptPhotograph, ...]:
    with database.reading() as session:
        return list_photographs(session)


def files(database: Database) -> list[str]:
    folder = database.path.parent / "photographs"
    return sorted(path.stem for path in folder.iterdir()) if folder.is_dir() else []


def test_the_phone_is_asked_for_its_camera(sign_in: SignIn, looked: str) -> None:
    page = sign_in(Role.TRAINEE).get(looked).text
    assert page.count('accept="image/*"') == 2
    assert page.count('capture="environment"') == 1
    assert page.count('type="file"') == 2
    assert 'enctype="multipart/form-data"' in page
    assert "24 Nov 2026" in page


@pytest.mark.parametrize("by", ["picture", "chosen"])
def test_a_photograph_of_a_check(sign_in: SignIn, looked: str, database: Database, by: str) -> None:
    client = sign_in(Role.TRAINEE)
    answer = send(client, looked, from_a_phone(), by=by, caption="Roots", taken_on="-1")
    assert (answer.status_code, answer.location) == (303, "/checks/1")
    (one,) = kept(database)
    assert files(database) == sorted([one.files.large.sha256, one.files.small.sha256])
    shows = "Hebe &#39;Great Orme&#39;, batch 26-0001, checked Tue 24 Nov"
    page = client.get("/checks/1").text
    assert "The photograph is kept." in page
    for address in ("/checks/1", "/batches/26-0001", "/photographs"):
        page = client.get(address).text
        assert f'src="/photographs/files/{one.files.small.sha256}.jpg"' in page
        assert f'alt="{shows}"' in page
        assert 'href="/photographs/1"' in page
    page = client.get("/photographs/1").text
    assert f'src="/photographs/files/{one.files.large.sha256}.jpg"' in page
    assert f'alt="{shows}"' in page
    assert "<b>Roots.</b>" in page


def test_a_photograph_of_a_stock_plant(sign_in: SignIn, looked: str, database: Database) -> None:
    client = sign_in(Role.TRAINEE)
    for _ in range(2):
        answer = send(client, "/stock-plants/S-0031/photographs/new", from_a_phone())
        assert answer.location == "/stock-plants/S-0031"
    page = client.get("/stock-plants/S-0031").text
    assert 'alt="Salvia officinalis, stock plant S-0031, Wed 25 Nov"' in page
    page = client.get("/photographs/1").text
    assert "Others of this stock plant" in page
    assert 'href="/photographs/2"' in page


def test_its_file_is_sent_with_care(sign_in: SignIn, looked: str, database: Database) -> None:
    client = sign_in(Role.HEAD)
    send(client, looked, from_a_phone())
    address = f"/photographs/files/{kept(database)[0].files.large.sha256}.jpg"
    answer = client.get(address)
    assert answer.content_type == "image/jpeg"
    assert answer.data.startswith(b"\xff\xd8")
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert answer.headers["Cache-Control"] == "private, max-age=31536000, immutable"
    assert "img-src 'self'" in answer.headers["Content-Security-Policy"]
    again = client.get(address, headers={"If-None-Match": answer.headers["ETag"]})
    assert again.status_code == 304
    answer.close()
    again.close()
    client.get("/sign-out")
    client.post("/sign-out")
    assert client.get(address).status_code == 303


def test_only_files_of_photographs_are_sent(
    sign_in: SignIn, looked: str, database: Database
) -> None:
    client = sign_in(Role.HEAD)
    send(client, looked, from_a_phone())
    folder = database.path.parent / "photographs"
    (folder / f"{'0' * 64}.jpg").write_bytes(b"nobody named it")
    for name in ("0" * 64, "..%2fsecret.key", "x"):
        assert client.get(f"/photographs/files/{name}.jpg").status_code == 404
    small = kept(database)[0].files.small.sha256
    (folder / f"{small}.jpg").unlink()
    answer = client.get(f"/photographs/files/{small}.jpg")
    assert answer.status_code == 404
    assert "is not there" in answer.text


def test_the_same_form_twice_is_one_photograph(
    sign_in: SignIn, looked: str, database: Database
) -> None:
    client = sign_in(Role.HEAD)
    for _ in range(2):
        answer = send(client, looked, from_a_phone(), post_key="k" * 20)
        assert answer.location == "/checks/1"
    assert len(kept(database)) == 1
    other = send(client, looked, from_a_phone(3), post_key="k" * 20)
    assert other.status_code == 422
    assert "already saved once, with other content" in other.text
    assert len(kept(database)) == 1


@pytest.mark.parametrize("name", REFUSED)
def test_a_hostile_picture_is_told_by_its_field(
    sign_in: SignIn, looked: str, database: Database, name: str
) -> None:
    content, words = REFUSED[name]
    client = sign_in(Role.TRAINEE)
    answer = send(client, looked, content, by="chosen", caption="What I saw")
    assert answer.status_code == 422
    error = answer.text.partition('id="chosen-error">')[2].partition("</p>")[0]
    assert words in error
    assert 'value="What I saw"' in answer.text
    assert kept(database) == ()
    assert files(database) == []


def test_without_a_picture_one_is_asked_for(sign_in: SignIn, looked: str) -> None:
    answer = sign_in(Role.TRAINEE).post(looked, data={"caption": "x", "taken_on": "today"})
    assert answer.status_code == 422
    assert "Take or choose a photograph first." in answer.text


def test_what_is_too_large_is_told_before_it_is_read(
    sign_in: SignIn, looked: str, guarded_app: Flask, database: Database
) -> None:
    answer = send(
        sign_in(Role.TRAINEE), looked, b"\xff\xd8\xff" + b"\0" * (PHOTOGRAPH_BYTES + 2**17)
    )
    assert answer.status_code == 413
    error = answer.text.partition('id="picture-error">')[2].partition("</p>")[0]
    assert "larger than 15 MB" in error
    assert kept(database) == ()


def test_a_wrong_day_keeps_what_was_typed_and_says_what_a_browser_does_not_keep(
    sign_in: SignIn, looked: str, database: Database
) -> None:
    client = sign_in(Role.TRAINEE)
    answer = send(client, looked, from_a_phone(), taken_on="tomorrow?", taken_by="99")
    assert answer.status_code == 422
    assert 'id="taken_on-error"' in answer.text
    assert "Choose somebody from the list." in answer.text
    assert "Choose the photograph once more" in answer.text
    assert 'value="tomorrow?"' in answer.text
    assert kept(database) == ()
    assert send(client, looked, from_a_phone(), taken_on="+1").status_code == 422


def test_a_token_that_does_not_hold_writes_nothing(
    sign_in: SignIn, looked: str, guarded_app: Flask, database: Database
) -> None:
    answer = send(sign_in(Role.TRAINEE), looked, from_a_phone())
    assert answer.status_code == 422
    assert "open too long" in answer.text
    assert kept(database) == ()
    assert files(database) == []


def test_it_is_drawn_before_the_log_is_asked_for_its_turn(
    sign_in: SignIn, looked: str, database: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    written = []
    draw = pictures.draw_photograph

    def watched(stream: Any) -> Any:
        """Let somebody else write while the picture is drawn: nobody may have to wait for it."""

        def write() -> None:
            with database.writing():
                written.append("somebody else's entry")

        other = threading.Thread(target=write)
        other.start()
        other.join(timeout=5)
        return draw(stream)

    monkeypatch.setattr(pictures, "draw_photograph", watched)
    assert send(sign_in(Role.TRAINEE), looked, from_a_phone()).status_code == 303
    assert written == ["somebody else's entry"]


def test_withdrawing_and_undoing(sign_in: SignIn, looked: str, database: Database) -> None:
    client = sign_in(Role.TRAINEE)
    send(client, looked, from_a_phone())
    send(client, looked, from_a_phone(3))
    assert client.post("/photographs/2/undo").location == "/photographs/2"
    page = client.get("/photographs/1/withdraw").text
    assert "Withdraw this photograph" in page
    assert client.post("/photographs/1/withdraw", data={"version": "1"}).status_code == 422
    data = {"version": "1", "reason": "a thumb"}
    assert client.post("/photographs/1/withdraw", data=data).status_code == 303
    page = client.get("/photographs/1").text
    assert "<b>Withdrawn</b>" in page
    assert "a thumb" in page
    assert f'/photographs/files/{kept(database)[1].files.large.sha256}.jpg"' in page
    assert "/photographs/files/" not in client.get("/batches/26-0001").text
    assert "withdrawn" in client.get("/photographs").text


def test_somebody_elses_is_the_heads_to_withdraw(
    sign_in: SignIn, looked: str, database: Database
) -> None:
    send(sign_in(Role.HEAD), looked, from_a_phone())
    client = sign_in(Role.TRAINEE)
    assert "Withdraw it" not in client.get("/photographs/1").text
    assert client.get("/photographs/1/withdraw").status_code == 403
    client = sign_in(Role.MANAGER)
    assert "Add a photograph" not in client.get("/checks/1").text
    assert client.get(looked).status_code == 403


def test_what_counts_nowhere_takes_no_photograph(
    sign_in: SignIn, looked: str, database: Database
) -> None:
    client = sign_in(Role.HEAD)
    client.post("/checks/1/withdraw", data={"version": "1", "reason": "another batch"})
    assert "Add a photograph" not in client.get("/checks/1").text
    answer = send(client, looked, from_a_phone())
    assert answer.status_code == 422
    assert "counts nowhere" in answer.text


def test_an_empty_list_says_what_will_be_there(sign_in: SignIn) -> None:
    client = sign_in(Role.HEAD)
    assert "No photograph has been added yet" in client.get("/photographs").text
    assert 'href="/photographs"' in client.get("/records").text


def test_a_long_list_is_turned_page_by_page(
    sign_in: SignIn, looked: str, database: Database, head: Actor, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("app.web.pages.photographs.PAGE", 1)
    client = sign_in(Role.HEAD)
    for orientation in (1, 3):
        send(client, looked, from_a_phone(orientation))
    with database.writing() as session:
        withdraw_photograph(
            session,
            actor=head,
            today=TODAY,
            now=NOW,
            photograph_id=1,
            version=1,
            reason="a thumb",
        )
    page = client.get("/photographs").text
    assert 'href="/photographs?before=2"' in page
    assert 'href="/photographs/1"' in client.get("/photographs?before=2").text


def test_records_says_that_the_copy_holds_none(
    sign_in: SignIn, looked: str, tmp_path: Path
) -> None:
    client = sign_in(Role.HEAD)
    assert "copy holds no photographs" not in client.get("/records").text
    send(client, looked, from_a_phone())
    assert "copy holds no photographs" in client.get("/records").text
