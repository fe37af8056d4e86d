"""What stands out on a page: where to look, the funnel, and who sees whom."""

import re
from collections.abc import Callable
from datetime import date
from html import unescape
from urllib.parse import urlencode

import numpy as np
import pytest
from flask.testing import FlaskClient

from app.domain.people import Role
from app.store.session import Database
from tests.domain.rate_batches import Counts
from tests.store.rate_records import RateRecords

SignIn = Callable[[Role], FlaskClient]
PEOPLE = ("Ines Farrow", "Tomas Quill", "Bo Marram", "Una Sedge", "Wim Alder")
BENCHES = ("Bench 1", "Bench 2", "Bench 3", "Bench 4")


@pytest.fixture
def filled(database: Database) -> Database:
    """Ninety batches dealt out evenly; those of Bo Marram strike far worse."""
    rng = np.random.default_rng(21)
    with database.writing() as session:
        records = RateRecords(session=session)
        for place in range(90):
            person = PEOPLE[place % 5]
            rooted = int(rng.binomial(60, 0.35 if person == "Bo Marram" else 0.75))
            records.add_batch(
                Counts(rooted=rooted, lost=60 - rooted),
                plant=("Hebe 'Invented'", "Cistus purpureus")[place // 5 % 2],
                person=person,
                bench=BENCHES[place // 10 % 4],
                stuck_on=date(2026, 3 + place // 20, 1 + place % 28),
                sources=("S-0031", "S-0032") if place % 7 else ("S-0033",),
            )
        records.add_batch(Counts(rooted=0, lost=60), person="Ada Marsh")
    return database


def page(client: FlaskClient, *, status: int = 200, **asked: str) -> str:
    answer = client.get(f"/strike-rates/standing-out?{urlencode(asked)}")
    assert answer.status_code == status
    return unescape(answer.get_data(as_text=True))


def words(html: str) -> str:
    inline = re.sub(r"</?(?:a|b|i|span)\b[^>]*>", "", html)
    return " ".join(re.sub(r"<[^>]+>", " ", inline).split())


def headline(html: str) -> str:
    found = re.search(r'aria-label="Answer">\s*<h2>([^<]*)</h2>', html)
    assert found
    return found[1]


@pytest.mark.usefixtures("filled")
@pytest.mark.parametrize("role", [Role.HEAD, Role.MANAGER])
def test_who_needs_a_look_is_said_with_the_batches_behind(sign_in: SignIn, role: Role) -> None:
    html = page(sign_in(role), by="person")
    assert headline(html) == "Bo Marram needs a look."
    said = words(html)
    assert "Bo Marram: needs a look, 18 batches behind it." in said
    assert "It says where to look, not whose fault it is" in said
    assert "1 with fewer than three finished batches: nothing is said of these." in said
    assert "Ada Marsh" not in words(html[html.index("<table") : html.index("</table>")])
    order = [said.index(f"{name} ") for name in ("Bo Marram", "Una Sedge")]
    assert order == sorted(order)


@pytest.mark.usefixtures("filled")
def test_the_funnel_names_only_who_is_pointed_at(sign_in: SignIn) -> None:
    html = page(sign_in(Role.HEAD), by="person")
    drawn = re.search(r'<svg class="rates".*?</svg>', html, re.DOTALL)
    assert drawn
    assert drawn[0].count("<circle") == 4
    assert drawn[0].count('class="called"') == 1
    texts = re.findall(r"<text[^>]*>([^<]*)</text>", drawn[0])
    assert "Bo Marram" in texts
    assert not {"Ines Farrow", "Tomas Quill"} & set(texts)
    assert "style=" not in drawn[0]


@pytest.mark.usefixtures("filled")
def test_a_line_opens_its_batches(sign_in: SignIn) -> None:
    client = sign_in(Role.HEAD)
    link = re.findall(r'href="(/strike-rates/batches[^"]*)"', page(client, by="person"))[0]
    behind = words(unescape(client.get(link).get_data(as_text=True)))
    assert "person Bo Marram" in behind
    assert "1 to 18 of 18" in behind


@pytest.mark.usefixtures("filled")
def test_a_trainee_sees_nobody_else(sign_in: SignIn) -> None:
    html = page(sign_in(Role.TRAINEE), by="person")
    assert headline(html) == (
        "Your batches struck as was to be expected of them, as far as can be told."
    )
    assert "Figures by person are shown to you for yourself only." in words(html)
    assert not [name for name in (*PEOPLE, "Ada Marsh") if name in html and name != "Tomas Quill"]
    assert '<circle class="interval"' not in html


@pytest.mark.usefixtures("filled")
def test_benches_are_open_to_everybody(sign_in: SignIn) -> None:
    said = words(page(sign_in(Role.TRAINEE), by="bench"))
    assert "Nothing stands out" in said
    assert all(bench in said for bench in BENCHES)
    assert "How was this worked out?" in said


@pytest.mark.usefixtures("filled")
def test_stock_plants_share_their_batches(sign_in: SignIn) -> None:
    said = words(page(sign_in(Role.HEAD), by="stock_plant"))
    assert "S-0031" in said
    assert "S-0033" in said


@pytest.mark.usefixtures("filled")
def test_days_narrow_what_is_looked_over(sign_in: SignIn) -> None:
    client = sign_in(Role.HEAD)
    assert 'value="2024-11-25"' in page(client, by="person")
    later = page(client, by="person", since="2027")
    assert headline(later).startswith("There are not two people with a finished batch")


def test_no_data_is_said(sign_in: SignIn) -> None:
    assert headline(page(sign_in(Role.HEAD))).startswith("There are not two people")
    assert headline(page(sign_in(Role.TRAINEE))).startswith("Fewer than three of your batches")


@pytest.mark.parametrize(
    ("asked", "sentence"),
    [({"by": "moon"}, 'Nothing stands out by "moon".'), ({"since": "soon"}, "Give a day such as")],
)
def test_what_cannot_be_read_is_said(sign_in: SignIn, asked: dict[str, str], sentence: str) -> None:
    html = page(sign_in(Role.HEAD), status=422, **asked)
    assert sentence in words(html)
    assert 'aria-label="Answer"' not in html


@pytest.mark.usefixtures("filled")
def test_strike_rates_lead_to_both_pages(sign_in: SignIn) -> None:
    html = sign_in(Role.MANAGER).get("/strike-rates").get_data(as_text=True)
    assert 'href="/strike-rates/compare"' in html
    assert 'href="/strike-rates/standing-out"' in html
