"""Comparing two ways on a page: choices, the answer, refusals, and who may see what."""

import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
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
HORMONES = {"by": "hormone", "one": "IBA talc 3000 ppm", "other": "no hormone"}


@contextmanager
def written(database: Database) -> Iterator[RateRecords]:
    with database.writing() as session:
        yield RateRecords(session=session)


@pytest.fixture
def filled(database: Database) -> Database:
    """Three strengths and none, shared out evenly between two genera, people and seasons."""
    rng = np.random.default_rng(11)
    better = {"none": 0.0, "IBA talc 1000 ppm": 0.0, "IBA talc 3000 ppm": 0.3}
    with written(database) as records:
        for place in range(72):
            hormone = list(better)[place % 3]
            rooted = int(rng.binomial(40, 0.5 + better[hormone]))
            records.add_batch(
                Counts(rooted=rooted, lost=40 - rooted),
                plant=("Hebe 'Invented'", "Cistus purpureus")[place // 3 % 2],
                person=("Ines Farrow", "Tomas Quill")[place // 6 % 2],
                stuck_on=date(2026, (4, 7)[place // 12 % 2], 1 + place % 28),
                hormone=hormone,
            )
        records.add_batch(Counts(rooted=1, unrooted=39, counted_at=20), hormone="none")
    return database


def page(client: FlaskClient, *, status: int = 200, **asked: str) -> str:
    answer = client.get(f"/strike-rates/compare?{urlencode(asked)}")
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
def test_levels_are_offered_with_their_batches(sign_in: SignIn) -> None:
    html = page(sign_in(Role.MANAGER))
    assert '<option value="IBA talc 3000 ppm">IBA talc 3000 ppm (24 batches)</option>' in html
    assert "Choose two, and press “Compare”." in html
    assert 'aria-label="Answer"' not in html


@pytest.mark.usefixtures("filled")
def test_the_answer_is_one_sentence_with_its_checks_beside(sign_in: SignIn) -> None:
    html = page(sign_in(Role.MANAGER), **HORMONES)
    found = re.fullmatch(
        r"IBA talc 3000 ppm against no hormone: \+(\d+) points"
        r" \(\+(\d+) to \+(\d+)\), 48 batches\.",
        headline(html),
    )
    assert found
    points, low, high = map(int, found.groups())
    assert low <= 30 <= high
    assert low < points < high
    said = words(html)
    assert "Like with like, only batches of the same genus, season and person: +" in said
    assert "Shuffling which was which 999 times among them, chance alone does as much in" in said
    assert "With nothing held alike it would have been +" in said
    assert "1 batch is left out: too many of the cuttings have no outcome yet." in said
    assert "IBA talc 3000 ppm 24 960" in said
    assert "How was this worked out?" in said
    assert "Held alike: genus, season and person." in said
    assert "n / (1 + (n − 1) × 0." in said


@pytest.mark.usefixtures("filled")
def test_the_form_keeps_what_was_asked(sign_in: SignIn) -> None:
    html = page(sign_in(Role.HEAD), **HORMONES, since="2026")
    assert '<option selected value="no hormone">' in html
    assert 'name="since"' in html and 'value="2026"' in html


@pytest.mark.usefixtures("filled")
def test_filters_stay_folded_until_one_of_them_says_something(sign_in: SignIn) -> None:
    client = sign_in(Role.HEAD)
    assert '<details class="fold">' in page(client)
    assert '<details class="fold" open>' not in page(client, status=422, **HORMONES, since="soon")
    assert '<details class="fold" open>' in page(client, **HORMONES, genus="Hebe")
    assert '<details class="fold" open>' in page(client, status=422, **HORMONES, genus="Salxi")


@pytest.mark.usefixtures("filled")
def test_each_side_opens_its_batches(sign_in: SignIn) -> None:
    client = sign_in(Role.HEAD)
    links = re.findall(r'href="(/strike-rates/batches[^"]*)"', page(client, **HORMONES))
    assert len(links) == 2
    behind = words(unescape(client.get(links[0]).get_data(as_text=True)))
    assert "1 to 24 of 24" in behind


@pytest.mark.usefixtures("filled")
def test_several_strengths_are_corrected_for_looking_at_all(sign_in: SignIn) -> None:
    said = words(page(sign_in(Role.MANAGER), **HORMONES))
    assert "All strengths against no hormone." in said
    assert re.search(r"IBA talc 1000 ppm 24 \S+ \S+ to \S+ [\w ]+ % not proven", said)
    assert re.search(r"IBA talc 3000 ppm 24 \+\d+ \+\d+ to \+\d+ under 1 % yes", said)


@pytest.mark.usefixtures("filled")
def test_one_genus_leans_on_the_other(sign_in: SignIn) -> None:
    html = page(sign_in(Role.MANAGER), **HORMONES, genus="hebe")
    assert headline(html).startswith("Hebe, IBA talc 3000 ppm against no hormone: +")
    assert headline(html).endswith("24 batches, leaning on the other genera.")
    said = words(html)
    assert "All genera: IBA talc 3000 ppm against no hormone: +" in said
    assert "Hebe by itself, leaning on nothing: " in said
    assert "Genus by genus, each leaning on all the others" in said
    assert "Cistus 12 12 +" in said


@pytest.mark.usefixtures("filled")
def test_the_picture_says_the_same_points(sign_in: SignIn) -> None:
    html = page(sign_in(Role.MANAGER), **HORMONES)
    drawn = re.search(r'<svg class="rates".*?</svg>', html, re.DOTALL)
    assert drawn
    texts = re.findall(r"<text[^>]*>([^<]*)</text>", drawn[0])
    points = re.search(r"no hormone: (\+\d+) points", headline(html))
    assert points
    assert f"{points[1]} points" in texts
    assert {"All genera", "Like with like", "Cistus", "Hebe"} <= set(texts)
    assert drawn[0].count('class="interval"') == 3


@pytest.mark.usefixtures("filled")
@pytest.mark.parametrize(
    ("asked", "sentence"),
    [
        ({"one": "IBA talc 300 ppm"}, 'There is no hormone "IBA talc 300 ppm" in the log.'),
        ({"other": "IBA talc 3000 ppm"}, "Choose another hormone to compare"),
        ({"by": "moon"}, 'Nothing called "moon" can be compared.'),
        ({"genus": "Salxi"}, 'There is no genus "Salxi" in the log.'),
        ({"hormone": "no hormone"}, "Leave out hormone here: it is what is being compared."),
        ({"since": "someday"}, "Give a day such as"),
    ],
)
def test_what_cannot_be_compared_is_said_in_a_sentence(
    sign_in: SignIn, asked: dict[str, str], sentence: str
) -> None:
    html = page(sign_in(Role.HEAD), status=422, **{**HORMONES, **asked})
    assert sentence in words(html)
    assert 'aria-label="Answer"' not in html
    assert "<title>Error: " in html


@pytest.mark.usefixtures("filled")
def test_levels_of_another_factor_are_dropped_with_it(sign_in: SignIn) -> None:
    html = page(sign_in(Role.HEAD), **{**HORMONES, "by": "season", "of": "hormone"})
    assert "April to June (37 batches)" in html
    assert "Choose two" in html


@pytest.mark.usefixtures("filled")
def test_plants_are_typed_not_listed(sign_in: SignIn) -> None:
    client = sign_in(Role.HEAD)
    html = page(client, by="plant")
    assert re.search(r'<input[^>]*data-suggest="[^"]*"[^>]*id="one"', html)
    compared = page(client, by="plant", one="Hebe 'Invented'", other="Cistus purpureus")
    assert headline(compared).startswith("Hebe 'Invented' against Cistus purpureus")


def test_no_data_is_said(sign_in: SignIn) -> None:
    said = words(page(sign_in(Role.HEAD)))
    assert "No data: no batch answers to this, so that there is nothing to compare yet." in said


def test_one_level_alone_has_nothing_to_compare(sign_in: SignIn, database: Database) -> None:
    with written(database) as records:
        for _ in range(4):
            records.add_batch(Counts(rooted=30, lost=10), hormone="none")
    said = words(page(sign_in(Role.HEAD)))
    assert "All batches here are of one hormone: no hormone." in said
    asked = {**HORMONES, "one": "not recorded"}
    html = page(sign_in(Role.HEAD), **asked)
    assert headline(html) == "Nothing to compare: no finished batch of hormone not recorded."


def test_what_always_went_together_is_not_a_finding(sign_in: SignIn, database: Database) -> None:
    with written(database) as records:
        for place in range(24):
            records.add_batch(
                Counts(rooted=36 if place % 2 else 12, lost=4 if place % 2 else 28),
                hormone="IBA talc 3000 ppm" if place % 2 else "none",
                person="Tomas Quill" if place % 2 else "Ines Farrow",
            )
    html = page(sign_in(Role.MANAGER), **HORMONES)
    together = "IBA talc 3000 ppm and Tomas Quill always went together."
    assert headline(html) == f"This cannot be separated: {together}"
    assert "The bare rates differ by +60 points; why, nobody can tell." in words(html)
    # A trainee is told who is meant where it is the trainee, and no name of anybody else.
    own = headline(page(sign_in(Role.TRAINEE), **HORMONES))
    assert own.endswith("Tomas Quill always went together.")
    turned = {**HORMONES, "one": "no hormone", "other": "IBA talc 3000 ppm"}
    assert "Ines" not in page(sign_in(Role.TRAINEE), **turned)


@pytest.mark.usefixtures("filled")
def test_a_trainee_compares_no_people(sign_in: SignIn) -> None:
    trainee = sign_in(Role.TRAINEE)
    plain = page(trainee)
    assert '<option value="person">' not in plain
    for asked in ({"by": "person"}, {"by": "person", "one": "Ines Farrow", "other": "Tomas Quill"}):
        refused = page(trainee, status=422, **asked)
        assert "for yourself only" in words(refused)
        assert "Ines Farrow" not in refused
    narrowed = page(trainee, status=422, **HORMONES, person="Ines Farrow")
    assert "for yourself only" in words(narrowed)
    compared = page(sign_in(Role.MANAGER), by="person", one="Ines Farrow", other="Tomas Quill")
    assert headline(compared).startswith("Ines Farrow against Tomas Quill: ")
