"""Two hundred entries from three devices, half of all answers thrown away, one browser killed.

Nothing typed is lost and nothing counts twice: in the end there are exactly two hundred records.
"""

import os
import random
import signal
from collections.abc import Iterable, Iterator
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING, Final

import pytest
from flask import Flask
from playwright.sync_api import Browser, BrowserContext, Page
from sqlalchemy import select, update

from app.domain.people import Actor
from app.services.passwords import hash_password
from app.store.models.accounts import Account
from app.store.models.batches import Batch
from app.store.session import Database
from tests.journeys.conftest import FLAGS, PASSWORD, PHONE, find_chromium, served
from tests.services.batch_records import add_plant
from tests.services.check_records import stick

if TYPE_CHECKING:
    from _typeshed.wsgi import StartResponse, WSGIApplication, WSGIEnvironment

pytestmark = pytest.mark.browser

PEOPLE: Final = ("Ines Farrow", "Tomas Quill", "Tomas Quill")
EACH: Final = (66, 67, 67)
ENTRIES: Final = 200
RUN: Final = 10
KILLED_AFTER: Final = 40
MOST_TRIES: Final = 600
HALF: Final = 0.5
MOSTLY: Final = 0.8
ADDRESS: Final = "/stick/new?like=26-0001"
SAVED: Final = "All entries saved."
TYPE_EACH: Final = """async (numbers) => {
    const form = document.querySelector("form.bench-stick");
    const field = form.elements.namedItem("stuck");
    for (const number of numbers) {
        field.value = String(number);
        form.requestSubmit();
        while (field.value !== "") await new Promise((done) => { setTimeout(done, 5); });
    }
}"""


class Weather:
    """A network that loses half of all answers, and every now and then is not there at all.

    It stands before the application and blows only on what an outbox sends. An answer breaks off in
    the middle, which a browser takes for a lost connection.
    """

    def __init__(self, app: Flask) -> None:
        self.app = app
        self.application: WSGIApplication = app.wsgi_app
        self.drawn = random.Random(5)
        self.lock = Lock()
        self.posts = 0
        self.lost = 0

    def __call__(
        self, environ: "WSGIEnvironment", start_response: "StartResponse"
    ) -> Iterable[bytes]:
        """Let a request pass, lose its answer, or do not let it in at all."""
        if "HTTP_STRIKEWELL_PERSON" not in environ:
            return self.application(environ, start_response)
        with self.lock:
            self.posts += 1
            down = self.posts // 40 % 3 == 2 and self.drawn.random() < MOSTLY
            loses = self.drawn.random() < HALF
            self.lost += not down and loses
        if down:
            return self._broken(start_response)
        if not loses:
            return self.application(environ, start_response)
        answer = self.application(environ, lambda *_: lambda _: None)
        for _ in answer:
            pass
        return self._broken(start_response)

    def _broken(self, start_response: "StartResponse") -> Iterable[bytes]:
        start_response("200 OK", [("Content-Length", "9999"), ("Connection", "close")])
        return [b"{"]


class Device:
    """A phone with its own browser and its own profile on the disk."""

    def __init__(self, browser: Browser, url: str, folder: Path, person: str) -> None:
        self.browser, self.url, self.folder, self.person = browser, url, folder, person
        self.context = self.switch_on()
        self.page = self.sign_in()

    def switch_on(self) -> BrowserContext:
        """Start the browser on the profile as it was left."""
        return self.browser.browser_type.launch_persistent_context(
            self.folder,
            executable_path=find_chromium(),
            args=[*FLAGS, "--no-sandbox"],
            viewport=PHONE,  # type: ignore[arg-type]
            base_url=self.url,
        )

    def sign_in(self) -> Page:
        """Come in through the door and open the page for sticking."""
        page = self.context.pages[0]
        page.goto("/sign-in")
        page.get_by_label("Name").fill(self.person)
        page.get_by_label("Password").fill(PASSWORD)
        page.get_by_role("button", name="Sign in").click()
        page.goto(ADDRESS)
        return page

    def enter(self, numbers: list[int]) -> None:
        """Type each number and save; the next one once the field is blank again: noted."""
        self.page.evaluate(TYPE_EACH, numbers)

    def send(self) -> None:
        """Let it try until it cannot."""
        self.page.evaluate("outbox.send()")

    def says(self) -> str:
        """Return what the line at the foot says."""
        return self.page.locator("#saved").inner_text()

    def switch_on_again(self) -> None:
        """Start it after it was killed; who held it has to sign in again."""
        self.context = self.switch_on()
        self.page = self.sign_in()

    def kill(self) -> None:
        """Kill the browser outright, as a battery or a system would."""
        for process in Path("/proc").glob("[0-9]*"):
            if self._is_mine(process):
                os.kill(int(process.name), signal.SIGKILL)

    def _is_mine(self, process: Path) -> bool:
        try:
            told = (process / "cmdline").read_bytes().split(b"\0")
        except OSError:
            return False
        return f"--user-data-dir={self.folder}".encode() in told


@pytest.fixture
def weather(guarded_app: Flask) -> Weather:
    """The weather before the served log."""
    weather = Weather(guarded_app)
    guarded_app.wsgi_app = weather  # type: ignore[method-assign]
    guarded_app.testing = False
    return weather


@pytest.fixture
def devices(
    weather: Weather,
    database: Database,
    chromium: Browser,
    tmp_path: Path,
    trainee: Actor,
) -> Iterator[list[Device]]:
    """Three devices, each on the page for sticking batches like 26-0001."""
    with database.writing() as session:
        session.execute(update(Account).values(password_hash=hash_password(PASSWORD)))
        stick(session, trainee, plant=add_plant(session), stuck=1)
    with served(weather.app) as url:
        started = [
            Device(chromium, url, tmp_path / f"device {place}", person)
            for place, person in enumerate(PEOPLE)
        ]
        yield started
        for device in started:
            device.context.close()


def all_typed(devices: list[Device]) -> list[int]:
    """Type 200 numbers, some on each device in turn; the second is killed on the way."""
    typed = []
    for begin in range(0, max(EACH), RUN):
        for place, device in enumerate(devices):
            turns = range(begin, min(begin + RUN, EACH[place]))
            numbers = [1000 * (place + 1) + turn for turn in turns]
            device.enter(numbers)
            typed += numbers
        if begin == KILLED_AFTER:
            devices[1].kill()
            devices[1].switch_on_again()
    return typed


def test_two_hundred_entries_end_as_two_hundred_records(
    weather: Weather, devices: list[Device], database: Database
) -> None:
    typed = all_typed(devices)
    assert len(typed) == ENTRIES
    for _ in range(MOST_TRIES):
        for device in devices:
            device.send()
        if all(device.says() == SAVED for device in devices):
            break
    assert [device.says() for device in devices] == [SAVED] * len(devices)
    assert weather.lost > ENTRIES // 3
    with database.reading() as session:
        query = select(Batch.stuck).where(Batch.stuck > 1, Batch.voided_at.is_(None))
        stored = list(session.scalars(query.order_by(Batch.id)))
    assert sorted(stored) == sorted(typed)
    # Each device's own came in the order in which they were typed.
    for place in range(len(devices)):
        mine = [number for number in stored if number // 1000 == place + 1]
        assert mine == sorted(mine)
