"""What tests of the pages of batches share: a small nursery, the form as typed, reading a page."""

import re
from secrets import token_urlsafe
from typing import Any

from flask.testing import FlaskClient

from app.services.plant_names import keep_plant_name, resolve_plant
from app.services.starting_data import load_starting_data
from app.store.queries.batches import BatchStory, get_batch
from app.store.session import Database
from tests.conftest import NOW
from tests.services.batch_records import add_bench, add_stock_plant


def set_up_nursery(database: Database) -> None:
    """Bring in the starting data, one plant name with a stock plant, and one bench."""
    with database.writing() as session:
        load_starting_data(session, now=NOW)
        name = resolve_plant(session, typed="Hebe 'Great Orme'").name
        hebe = keep_plant_name(session, actor=None, now=NOW, name=name)
        add_bench(session)
        add_stock_plant(session, hebe)


def posted(**typed: str) -> dict[str, str]:
    return {"post_key": token_urlsafe(18), **typed}


def six(**typed: str) -> dict[str, str]:
    """The six fields in sight, as somebody types them, and what else is said."""
    said = {
        "plant": "Hebe 'Great Orme'",
        "stuck": "96",
        "cutting_type": "semi-ripe",
        "hormone": "IBA talc 1000 ppm",
        "container": "",
        "bench": "1",
        "stuck_on": "t",
    }
    return posted(**(said | typed))


def stick(browser: FlaskClient, **typed: str) -> str:
    answer = browser.post("/batches/new", data=six(**typed))
    assert answer.status_code == 303, problems_of(answer.get_data(as_text=True))
    return answer.location


def text_of(answer: Any) -> str:
    return str(answer.get_data(as_text=True))


def problems_of(page: str) -> list[str]:
    return re.findall(r'<p class="error"[^>]*>([^<]*)', page)


def story(database: Database, code: str = "26-0001") -> BatchStory:
    with database.reading() as session:
        return get_batch(session, code=code)
