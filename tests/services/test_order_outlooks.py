"""How open orders stand: worked out, kept, and made anew when something changed."""

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from shutil import copyfile

import pytest
from sqlalchemy import select, update

from app.domain.order_notices import OrderOutlook
from app.domain.orders import OrderEntry
from app.domain.people import Actor
from app.services.fits import learn
from app.services.order_batches import count_to_order
from app.services.order_outlooks import watch_orders
from app.services.orders import add_order
from app.services.verifying import verify_log
from app.store.models.batches import BatchFacts
from app.store.models.orders import OrderOutlookRow
from app.store.models.plant_names import PlantNameRow
from app.store.queries.order_progress import (
    find_order_outlook,
    list_ordered_batches,
    list_orders_to_work_out,
    list_unlikely_orders,
)
from app.store.queries.orders import get_order
from app.store.session import Database
from tests.conftest import NOW, TODAY
from tests.journeys.told_log import tell_small_log
from tests.services.batch_records import days_ago
from tests.services.check_records import Stuck, check, lost, said, stick

DAYS = 150


@pytest.fixture(scope="module")
def told_file(migrated_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("told") / "strikewell.db"
    copyfile(migrated_file, path)
    database = Database(path, journal="TRUNCATE")
    tell_small_log(database)
    database.close()
    return path


@pytest.fixture
def told(told_file: Path, tmp_path: Path) -> Iterator[Database]:
    path = tmp_path / "told.db"
    copyfile(told_file, path)
    database = Database(path)
    yield database
    database.close()


def order(
    told: Database, head: Actor, *, plants: int, stuck: int = 0, days: int = DAYS, batches: int = 3
) -> int:
    """Order Hebe, and stick so many for it in three batches, 20 days ago."""
    with told.writing() as session:
        plant = session.scalars(
            select(PlantNameRow.id).where(PlantNameRow.plain == "Hebe 'Great Orme'")
        ).one()
        entry = OrderEntry(
            plant_name_id=plant,
            plants=plants,
            due_on=TODAY + timedelta(days=days),
            batches=batches,
        )
        number = add_order(session, actor=head, today=TODAY, now=NOW, entry=entry)
        for _ in range(3 if stuck else 0):
            batch = stick(session, head, plant=plant, stuck=stuck // 3, stuck_on=days_ago(20))
            count_to_order(session, actor=head, now=NOW, number=number, code=batch.code)
    return number


def outlook(told: Database, number: int) -> OrderOutlook:
    watch_orders(told, today=TODAY)
    with told.reading() as session:
        found = find_order_outlook(session, order_id=get_order(session, number=number).id)
    assert found is not None
    return found


def test_plenty_stuck_is_sure_and_too_few_are_not(told: Database, head: Actor) -> None:
    plenty = outlook(told, order(told, head, plants=60, stuck=300))
    few = outlook(told, order(told, head, plants=240, stuck=300))
    assert plenty.chance is not None and few.chance is not None
    assert plenty.chance > 0.9 > 0.5 > few.chance
    assert plenty.mend is None and not plenty.unlikely
    assert few.unlikely
    assert few.mend is not None and few.mend.stick is not None
    assert few.mend.stick > 60
    assert (few.batches, few.stuck, few.unrooted) == (3, 300, 300)
    assert few.low < few.expected < few.high


def test_checks_move_the_chance(told: Database, head: Actor) -> None:
    number = order(told, head, plants=150, stuck=300)
    before = outlook(told, number)
    with told.writing() as session:
        known = get_order(session, number=number)
        for line in list_ordered_batches(session, order_id=known.id):
            batch = Stuck(id=line.batch_id, code=line.code)
            check(session, head, batch, said(1, rooted=2, lost=lost(70)))
    after = outlook(told, number)
    assert before.chance is not None and after.chance is not None
    assert after.chance < 0.05 < before.chance
    assert (after.rooted, after.unrooted) == (6, 84)
    assert after.unlikely


def test_nothing_stuck_with_time_left_is_not_unlikely_yet(told: Database, head: Actor) -> None:
    found = outlook(told, order(told, head, plants=60))
    assert found.chance == 0.0
    assert not found.unlikely
    assert found.mend is not None and found.mend.stick is not None
    assert found.mend.by_on > TODAY


def test_too_late_says_why_nothing_helps(told: Database, head: Actor) -> None:
    found = outlook(told, order(told, head, plants=60, days=15))
    assert found.unlikely
    assert found.mend is not None
    assert (found.mend.stick, found.mend.refusal) == (None, "too late")


def test_it_is_worked_out_once_a_day_and_after_changes(told: Database, head: Actor) -> None:
    number = order(told, head, plants=240, stuck=300)
    assert outlook(told, number).unlikely
    with told.reading() as session:
        assert list_orders_to_work_out(session, today=TODAY) == ()
        # Those of the told log may be unlikely as well.
        assert number in [one.order.number for one in list_unlikely_orders(session)]
        tomorrow = list_orders_to_work_out(session, today=TODAY + timedelta(days=1))
    assert number in tomorrow
    with told.writing() as session:
        batch = stick(session, head, plant=1, stuck=100)
        count_to_order(session, actor=head, now=NOW, number=number, code=batch.code)
    with told.reading() as session:
        assert number in list_orders_to_work_out(session, today=TODAY)


def test_before_anything_is_learned_nothing_is_forecast(database: Database, head: Actor) -> None:
    with database.writing() as session:
        batch = stick(session, head)
        entry = OrderEntry(plant_name_id=1, plants=50, due_on=TODAY + timedelta(days=DAYS))
        number = add_order(session, actor=head, today=TODAY, now=NOW, entry=entry)
        count_to_order(session, actor=head, now=NOW, number=number, code=batch.code)
    learn(database, now=NOW)
    found = outlook(database, number)
    assert found.chance is None
    assert (found.stuck, found.unlikely, found.mend) == (96, False, None)


def test_verifying_finds_kept_counts_and_batches_that_are_off(told: Database, head: Actor) -> None:
    number = order(told, head, plants=240, stuck=300)
    outlook(told, number)
    with told.writing() as session:
        known = get_order(session, number=number)
        assert [one for one in verify_log(session) if one.record == known.name] == []
        session.execute(
            update(OrderOutlookRow).where(OrderOutlookRow.order_id == known.id).values(rooted=7)
        )
        line = list_ordered_batches(session, order_id=known.id)[0]
        cistus = session.scalars(
            select(PlantNameRow).where(PlantNameRow.plain.like("Cistus%"))
        ).one()
        session.execute(
            update(BatchFacts)
            .where(BatchFacts.batch_id == line.batch_id)
            .values(plant_name_id=cistus.id, genus_id=cistus.genus_id)
        )
        session.expire_all()
        said_of_it = [one.sentence for one in verify_log(session) if one.record == known.name]
    assert "rooted is 7; its batches give 0." in said_of_it
    assert any(
        "but is Cistus × purpureus; Hebe 'Great Orme' is wanted" in one for one in said_of_it
    )
