"""A real browser on a real server, for journeys; deselected where there is no Chromium."""

import os
import shutil
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from importlib.util import find_spec
from pathlib import Path
from shutil import copyfile
from typing import TYPE_CHECKING, Any

import pytest
from flask import Flask
from sqlalchemy import select, update
from waitress import create_server, wasyncore

from app import create_app
from app.clock import FixedClock
from app.domain.people import Role
from app.services.passwords import hash_password
from app.services.sign_in import begin_session
from app.settings import Settings
from app.store.models.accounts import Account
from app.store.models.people import Person
from app.store.session import Database
from tests.conftest import NOW
from tests.journeys.told_log import WRONG_SHEET, tell_small_log

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext, Page

NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome", "msedge")
FLAGS = (
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-gpu",
    "--disable-sync",
    "--no-first-run",
)
PHONE = {"width": 390, "height": 844}
DESK = {"width": 1366, "height": 768}
PASSWORD = "eleven willow baskets"
HAS_DRIVER = find_spec("playwright") is not None
_LEFT_OUT = pytest.StashKey[int]()

if not HAS_DRIVER:
    collect_ignore_glob = ["test_*.py"]


def find_chromium() -> str | None:
    """Return the Chromium to drive: BROWSER_PATH, else the first one on the path."""
    named = os.environ.get("BROWSER_PATH")
    return named or next(filter(None, map(shutil.which, NAMES)), None)


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave the journeys out where they cannot run; with REQUIRE_BROWSER=1 that is a failure."""
    if HAS_DRIVER and find_chromium():
        return
    if os.environ.get("REQUIRE_BROWSER") == "1":
        raise pytest.UsageError("REQUIRE_BROWSER=1, but no Chromium or no playwright was found.")
    journeys = [item for item in items if item.get_closest_marker("browser")]
    items[:] = [item for item in items if item not in journeys]
    config.hook.pytest_deselected(items=journeys)
    config.stash[_LEFT_OUT] = len(journeys)


def pytest_unconfigure(config: pytest.Config) -> None:
    """Say in the last line of the run that no browser took part."""
    left_out = config.stash.get(_LEFT_OUT, None)
    if left_out is not None:
        sys.stdout.write(f"No Chromium here: {left_out} browser journeys were left out.\n")


@dataclass(kw_only=True)
class Site:
    """A served log, the browser on it, and what went wrong in its pages."""

    url: str
    browser: "Browser"
    loses_network: bool = False
    """Whether the journey is about lost network, of which Chromium complains."""
    troubles: list[str] = field(default_factory=list)
    contexts: list["BrowserContext"] = field(default_factory=list)

    def open_page(
        self, *, size: dict[str, int] | None = None, javascript: bool = True, **more: Any
    ) -> "Page":
        """Return a page of its own browser session; Chromium's complaints are collected."""
        context = self.browser.new_context(
            viewport=size or DESK,  # type: ignore[arg-type]
            has_touch=size == PHONE,
            java_script_enabled=javascript,
            base_url=self.url,
            locale="en-GB",
            **more,
        )
        self.contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(10_000)
        page.on("console", self._heard)
        page.on("pageerror", lambda error: self.troubles.append(f"{page.url}: {error}"))
        page.on("request", self._asked)
        return page

    def sign_in(self, name: str, password: str, **wanted: Any) -> "Page":
        """Return a page on which somebody has come in by name and password."""
        page = self.open_page(**wanted)
        page.goto("/sign-in")
        page.get_by_label("Name").fill(name)
        page.get_by_label("Password").fill(password)
        page.get_by_role("button", name="Sign in").click()
        return page

    def close(self) -> None:
        """Close every browser session that was opened on it."""
        for context in self.contexts:
            context.close()

    def _heard(self, message: Any) -> None:
        # A form that is shown again comes as 422, which Chromium calls an error.
        lost = self.loses_network and "net::ERR_" in message.text
        if message.type == "error" and "status of 4" not in message.text and not lost:
            self.troubles.append(f"{message.location.get('url')}: {message.text}")

    def _asked(self, request: Any) -> None:
        if not request.url.startswith((self.url, "data:", "blob:")):
            self.troubles.append(f"asked another host: {request.url}")


@pytest.fixture(scope="session")
def chromium() -> "Iterator[Browser]":
    # The driver may be missing where no journey runs.
    from playwright.sync_api import sync_playwright  # noqa: PLC0415 - see above

    flags = [*FLAGS, *(["--no-sandbox"] if _is_root() else [])]
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=find_chromium(), args=flags)
        yield browser
        browser.close()


def _is_root() -> bool:
    return hasattr(os, "geteuid") and os.geteuid() == 0


@contextmanager
def served(app: Flask) -> Iterator[str]:
    """Serve the application in a thread on a free port and give its address."""
    sockets: dict[int, Any] = {}
    server = create_server(app, host="127.0.0.1", port=0, threads=4, map=sockets)
    thread = threading.Thread(target=server.run, name="served")
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.effective_port}"
    finally:
        # In the server's own thread: it would not survive its sockets being closed under it.
        server.trigger.pull_trigger(lambda: wasyncore.close_all(sockets))
        thread.join(timeout=10)
        server.task_dispatcher.shutdown()


@pytest.fixture
def site(guarded_app: Flask, chromium: "Browser") -> Iterator[Site]:
    """The test's log as people meet it; the test fails if a page had trouble."""
    guarded_app.testing = False
    with served(guarded_app) as url:
        site = Site(url=url, browser=chromium)
        yield site
        site.close()
    assert site.troubles == []


@pytest.fixture
def enter(site: Site, database: Database) -> Callable[..., "Page"]:
    """Return a function that opens a page and signs the person of a role in through the door."""
    with database.writing() as session:
        session.execute(update(Account).values(password_hash=hash_password(PASSWORD)))

    def through_the_door(role: Role, **wanted: Any) -> "Page":
        return site.sign_in(_name(database, role), PASSWORD, **wanted)

    return through_the_door


def _name(database: Database, role: Role) -> str:
    with database.reading() as session:
        query = select(Person.name).join(Account, Account.person_id == Person.id)
        return str(session.scalars(query.where(Account.role == role)).one())


@dataclass(frozen=True, kw_only=True)
class Opened:
    """A served log that stays as it is, and a page of it on which its head is signed in."""

    site: Site
    page: "Page"


@pytest.fixture(scope="session")
def told(
    migrated_file: Path, tmp_path_factory: pytest.TempPathFactory, chromium: "Browser"
) -> Iterator[Opened]:
    """A small log with something on every page, and a sheet that waits for being looked over."""
    folder = tmp_path_factory.mktemp("told")
    app = _app_on(migrated_file, folder)
    tell_small_log(app.extensions["strikewell"].database)
    sheet = folder / "notebook 2026.csv"
    sheet.write_text(WRONG_SHEET, encoding="utf-8")
    with _opened(app, chromium) as opened:
        opened.page.goto("/records/import")
        opened.page.get_by_label("Sheet").set_input_files(sheet)
        opened.page.get_by_role("button", name="Read it and show what it would do").click()
        opened.page.wait_for_url("**/records/import/1")
        yield opened


@pytest.fixture(scope="session")
def fresh(
    migrated_file: Path, tmp_path_factory: pytest.TempPathFactory, chromium: "Browser"
) -> Iterator[Opened]:
    """A log in which nothing was ever entered."""
    with _opened(_app_on(migrated_file, tmp_path_factory.mktemp("fresh")), chromium) as opened:
        yield opened


def _app_on(migrated_file: Path, folder: Path) -> Flask:
    copyfile(migrated_file, folder / "strikewell.db")
    settings = Settings(data=folder, secret_key="for tests only")
    return create_app(settings, clock=FixedClock(NOW))


@contextmanager
def _opened(app: Flask, chromium: "Browser") -> Iterator[Opened]:
    """Serve a log and open a page of it as its head, without going through the door."""
    database = app.extensions["strikewell"].database
    with database.writing() as session:
        token = begin_session(session, account_id=1, now=NOW)
    client = app.test_client()
    with client.session_transaction() as cookie:
        cookie["_user_id"] = token
    kept = client.get_cookie(app.config["SESSION_COOKIE_NAME"])
    assert kept is not None
    with served(app) as url:
        site = Site(url=url, browser=chromium)
        # Pages that glide to where the focus is would be looked at on the way there.
        page = site.open_page(reduced_motion="reduce")
        page.context.add_cookies([{"name": kept.key, "value": kept.value, "url": url}])
        yield Opened(site=site, page=page)
        site.close()
    database.close()
