"""The demo's labels printed ahead and its calendar."""

from app.store.queries.calendar_feeds import list_feeds, read_due_calendar
from app.store.queries.label_numbers import find_label_number, list_runs
from app.store.session import Database
from seed_demo.labels import IN_USE, ROLL
from tests.conftest import NOW


def test_a_roll_is_in_use_and_a_calendar_tells_what_is_due(told_database: Database) -> None:
    with told_database.reading() as session:
        (run,) = list_runs(session)
        assert (run.number, run.taken) == (ROLL, IN_USE)
        assert not find_label_number(session, text="N-0001").is_free  # type: ignore[union-attr]
        (feed,) = list_feeds(session, person_id=1)
        assert len(read_due_calendar(session, feed=feed, now=NOW).events) > 20
