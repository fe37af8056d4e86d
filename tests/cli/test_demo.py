"""`demo`: made once, used again, never in the place of a real log."""

from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import select

from app.cli import demo
from app.cli.demo import demo_folder, has_screen
from app.cli.main import main
from app.services.passwords import password_matches
from app.settings import default_data_folder
from app.store.models.accounts import Account
from app.store.models.people import Person
from app.store.session import Database
from seed_demo import story
from seed_demo.content import content_hash
from seed_demo.places import SHOWN
from tests.cli.running import Answer, run_command
from tests.migrations.rows import contents


class Stopped:
    """A server that is stopped as soon as it runs."""

    def run(self) -> None:
        """Serve nobody."""


@contextmanager
def _opened(_context: Any, *, port: int) -> Iterator[Stopped]:
    yield Stopped()


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """Tell a short story and serve nobody."""
    monkeypatch.setattr(story, "tell_story", partial(story.tell_story, days=12))
    monkeypatch.setattr(demo, "opened", _opened)
    monkeypatch.setattr(demo, "has_screen", lambda: False)


def _run(data: Path, *words: str) -> Answer:
    return run_command("demo", *words, data=data)


def test_it_is_made_and_says_who_can_sign_in(tmp_path: Path) -> None:
    answer = _run(tmp_path / "demo")
    assert (answer.code, answer.err) == (0, "")
    for person in SHOWN:
        assert f"{person.name}" in answer.out
        assert f"password: {person.password}" in answer.out
    assert sorted(path.name for path in (tmp_path / "demo").iterdir()) == [
        "demo.txt",
        "photographs",
        "secret.key",
        "strikewell.db",
        "strikewell.lock",
    ]


def test_its_passwords_work(tmp_path: Path) -> None:
    _run(tmp_path)
    database = Database(tmp_path / "strikewell.db")
    query = select(Person.name, Account.role, Account.password_hash).join(
        Account, Account.person_id == Person.id
    )
    with database.reading() as session:
        hashes = {row.name: row for row in session.execute(query)}
    database.close()
    for person in SHOWN:
        row = hashes[person.name]
        assert row.role == person.role
        assert password_matches(row.password_hash, password=person.password)


def test_a_second_run_uses_it_again(tmp_path: Path) -> None:
    _run(tmp_path)
    before = contents(tmp_path / "strikewell.db")
    answer = _run(tmp_path)
    assert answer.code == 0
    assert answer.out.startswith("The demo told on 2026-11-25.")
    assert contents(tmp_path / "strikewell.db") == before


def test_a_fresh_one_is_told_anew(tmp_path: Path) -> None:
    _run(tmp_path)
    before = content_hash(tmp_path / "strikewell.db")
    database = Database(tmp_path / "strikewell.db")
    with database.writing() as session:
        session.connection().exec_driver_sql("UPDATE benches SET notes = 'tried out'")
    database.close()
    assert content_hash(tmp_path / "strikewell.db") != before
    assert _run(tmp_path, "--fresh").code == 0
    assert content_hash(tmp_path / "strikewell.db") == before


def test_a_telling_cut_short_leaves_no_half_demo(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupted(*_args: object, **_kwargs: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr(story, "tell_story", interrupted)
        assert _run(tmp_path).code == 1
    assert not (tmp_path / "strikewell.db").exists()
    assert _run(tmp_path).code == 0


@pytest.mark.parametrize("words", [[], ["--fresh"]])
def test_a_real_log_is_left_alone(tmp_path: Path, words: list[str]) -> None:
    run_command("verify", data=tmp_path)
    before = (tmp_path / "strikewell.db").read_bytes()
    answer = _run(tmp_path, *words)
    assert answer.code == 1
    assert "not the demo" in answer.err
    assert (tmp_path / "strikewell.db").read_bytes() == before


def test_it_lies_beside_the_real_log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("STRIKEWELL_DATA", str(tmp_path / "log"))
    assert default_data_folder() == tmp_path / "log"
    assert demo_folder() == tmp_path / "log-demo"
    assert main(["demo"]) == 0
    assert not (tmp_path / "log").exists()
    assert (tmp_path / "log-demo" / "strikewell.db").exists()


@pytest.mark.parametrize(
    ("environ", "platform", "screen"),
    [
        ({}, "linux", False),
        ({"DISPLAY": ":0"}, "linux", True),
        ({"WAYLAND_DISPLAY": "wayland-0"}, "linux", True),
        ({}, "win32", True),
        ({}, "darwin", True),
    ],
)
def test_a_browser_needs_a_screen(environ: dict[str, str], platform: str, screen: bool) -> None:
    assert has_screen(environ, platform=platform) is screen


def test_the_browser_is_opened_where_there_is_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened: list[str] = []
    monkeypatch.setattr(demo, "has_screen", lambda: True)
    monkeypatch.setattr(demo, "_open_browser", opened.append)
    _run(tmp_path, "--port", "8555")
    _run(tmp_path, "--port", "8555", "--no-browser")
    assert opened == ["http://127.0.0.1:8555/"]
