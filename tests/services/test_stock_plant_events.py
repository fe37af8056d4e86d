"""What happens to stock plants is kept by its day, and what a plant says of itself follows."""

from datetime import timedelta

import pytest
from sqlalchemy import select, update
from sqlalchemy.orm import Session

from app.domain.people import Actor
from app.domain.problems import NotAccepted, NotAllowed, NotFound
from app.domain.source_plants import Moment
from app.domain.stock_plant_events import EventEntry, EventKind, Result
from app.domain.stock_plants import StockPlantEntry, StockPlantState
from app.services.batches import stick_batch
from app.services.stock_plant_events import record_event, withdraw_event
from app.services.stock_plants import add_stock_plant, discard_stock_plant
from app.services.verifying import verify_log
from app.store.models.history import HistoryLine
from app.store.models.plant_names import PlantNameRow
from app.store.models.stock_plant_events import StockPlantEvent
from app.store.models.stock_plants import StockPlant
from app.store.queries.stock_plant_events import list_events, list_plants_to_see
from app.store.queries.stock_plants import StockPlantsIn, get_stock_plant, list_stock_plants
from app.store.queries.stock_yields import read_stock_yield
from tests.conftest import NOW, TODAY
from tests.services.batch_records import add_plant, days_ago, entry, from_stock_plant

DAY = timedelta(days=1)


@pytest.fixture
def plant_id(session: Session) -> int:
    return add(session)


def add(session: Session, **more: object) -> int:
    plant = session.scalar(select(PlantNameRow.id)) or add_plant(session)
    told = StockPlantEntry(plant_name_id=plant, **more)  # type: ignore[arg-type]
    return add_stock_plant(session, actor=None, today=TODAY, now=NOW, entry=told).id


def record(
    session: Session, actor: Actor, plant_id: int, kind: EventKind, *, ago: int = 0, **more: object
) -> int:
    said = EventEntry(kind=kind, happened_on=days_ago(ago), **more)  # type: ignore[arg-type]
    return record_event(
        session, actor=actor, today=TODAY, now=NOW, stock_plant_id=plant_id, entry=said
    )


def withdraw(session: Session, actor: Actor, event_id: int, reason: str = "wrong plant") -> None:
    withdraw_event(session, actor=actor, today=TODAY, now=NOW, event_id=event_id, reason=reason)


def in_state(session: Session, wanted: StockPlantsIn) -> list[str]:
    return [line.code for line in list_stock_plants(session, on=TODAY, wanted=wanted).lines]


def test_a_new_plant_begins_with_its_entries(session: Session) -> None:
    add(
        session,
        plants=12,
        came_on=days_ago(40),
        cut_back_on=days_ago(5),
        renew_by=TODAY + 900 * DAY,
        tested_until=TODAY + 90 * DAY,
        true_to_type_on=days_ago(3),
    )
    known = get_stock_plant(session, code="S-0001")
    told = [
        (shown.event.kind, shown.event.happened_on)
        for shown in list_events(session, stock_plant_id=known.id)
    ]
    assert told == [
        (EventKind.TRUE_TO_TYPE, days_ago(3)),
        (EventKind.CUT_BACK, days_ago(5)),
        (EventKind.TESTED, days_ago(40)),
        (EventKind.RENEWAL, days_ago(40)),
        (EventKind.COUNTED, days_ago(40)),
    ]
    assert list(verify_log(session)) == []


def test_the_number_of_plants_follows_and_yields_use_that_of_the_day(
    session: Session, head: Actor
) -> None:
    plant_id = add(session, plants=10, came_on=days_ago(200))
    for ago, number in ((100, 80), (10, 36)):
        said = entry(
            1,
            stuck_on=days_ago(ago),
            stuck=number,
            taken=number,
            sources=(from_stock_plant(plant_id, number),),
        )
        stick_batch(session, actor=head, today=TODAY, now=NOW, entry=said)
    first = record(session, head, plant_id, EventKind.COUNTED, ago=50, plants=6, note="frost")
    record(session, head, plant_id, EventKind.COUNTED, ago=70, plants=8)
    assert get_stock_plant(session, code="S-0001").entry.plants == 6
    found = read_stock_yield(session, plant_name_id=1, genus_id=1, on=TODAY)
    assert sorted(found.cuts) == [6.0, 8.0]
    withdraw(session, head, first)
    assert get_stock_plant(session, code="S-0001").entry.plants == 8
    changes = session.scalars(
        select(HistoryLine.change).where(HistoryLine.subject == "stock plant S-0001")
    ).all()
    assert changes == [
        "{}",
        '{"plants":[10,6]}',
        "{}",
        '{"plants":[6,8],"reason":[null,"wrong plant"],"withdrawn":[false,true]}',
    ]
    assert list(verify_log(session)) == []


def test_the_only_count_stays(session: Session, head: Actor, plant_id: int) -> None:
    (begun,) = list_events(session, stock_plant_id=plant_id)
    with pytest.raises(NotAccepted, match="only number"):
        withdraw(session, head, begun.event.id)
    record(session, head, plant_id, EventKind.COUNTED, plants=5)
    withdraw(session, head, begun.event.id)
    with pytest.raises(NotAccepted, match="already"):
        withdraw(session, head, begun.event.id)


def test_what_is_found_holds_it_until_the_head_has_looked(
    session: Session, head: Actor, trainee: Actor, plant_id: int
) -> None:
    kind = EventKind.INSPECTED
    record(session, trainee, plant_id, kind, ago=2, result=Result.DOUBT, finding="pale tips")
    assert in_state(session, StockPlantsIn.WATCHED) == ["S-0001"]
    record(session, trainee, plant_id, kind, ago=1, result=Result.BAD, finding="blackleg")
    assert in_state(session, StockPlantsIn.ON_HOLD) == ["S-0001"]
    assert in_state(session, StockPlantsIn.WATCHED) == in_state(session, StockPlantsIn.FIT) == []
    said = entry(1, sources=(from_stock_plant(plant_id, 96),))
    with pytest.raises(NotAccepted, match="blackleg"):
        stick_batch(session, actor=trainee, today=TODAY, now=NOW, entry=said)
    with pytest.raises(NotAllowed, match="blackleg"):
        record(session, trainee, plant_id, kind, result=Result.GOOD)
    found = read_stock_yield(session, plant_name_id=1, genus_id=1, on=TODAY)
    assert (found.plants, found.fit, found.fit_after_rest) == (1, 0, 0)
    record(session, head, plant_id, kind, result=Result.GOOD, until_on=TODAY + 14 * DAY)
    assert in_state(session, StockPlantsIn.FIT) == ["S-0001"]
    stick_batch(session, actor=trainee, today=TODAY, now=NOW, entry=said)


def test_a_trainee_withdraws_own_entries_only(
    session: Session, head: Actor, trainee: Actor, plant_id: int
) -> None:
    own = record(session, trainee, plant_id, EventKind.CUT_BACK)
    other = record(session, head, plant_id, EventKind.CUT_BACK)
    with pytest.raises(NotAllowed):
        withdraw(session, trainee, other)
    withdraw(session, trainee, own)
    with pytest.raises(NotAccepted, match="Say why"):
        withdraw(session, head, other, " ")
    with pytest.raises(NotAccepted, match="Shorten"):
        withdraw(session, head, other, "x" * 501)
    with pytest.raises(NotFound):
        withdraw(session, head, 99)


def test_nothing_happens_to_what_is_discarded_or_not_there(
    session: Session, head: Actor, plant_id: int
) -> None:
    with pytest.raises(NotAccepted, match="list"):
        record(session, head, plant_id, EventKind.CUT_BACK, by_id=99)
    with pytest.raises(NotFound):
        record(session, head, 99, EventKind.CUT_BACK)
    discard_stock_plant(
        session,
        actor=head,
        today=TODAY,
        now=NOW,
        stock_plant_id=plant_id,
        version=1,
        discarded_on=TODAY,
        reason="old",
    )
    with pytest.raises(NotAccepted, match="discarded"):
        record(session, head, plant_id, EventKind.CUT_BACK)


def test_an_entry_is_no_edit_of_the_plant(session: Session, head: Actor, plant_id: int) -> None:
    record(session, head, plant_id, EventKind.CUT_BACK)
    assert session.get_one(StockPlant, plant_id).version == 1


def test_what_is_to_be_seen_to(session: Session, head: Actor) -> None:
    kind, good = EventKind.INSPECTED, Result.GOOD
    due, later, gone = add(session), add(session), add(session)
    record(session, head, due, kind, ago=9, result=good, until_on=days_ago(1))
    record(session, head, later, kind, result=good, until_on=TODAY + 8 * DAY)
    record(session, head, gone, kind, result=good, until_on=TODAY)
    add(session, tested_until=TODAY + 30 * DAY)
    add(session, tested_until=TODAY + 31 * DAY)
    discard_stock_plant(
        session,
        actor=head,
        today=TODAY,
        now=NOW,
        stock_plant_id=gone,
        version=1,
        discarded_on=TODAY,
        reason="old",
    )
    found = list_plants_to_see(
        session, inspect_by=TODAY + 7 * DAY, tested_from=TODAY, tested_to=TODAY + 30 * DAY, most=2
    )
    told = [(plant.code, plant.inspect) for plant in found.plants]
    assert (told, found.more) == ([("S-0001", True), ("S-0004", False)], 0)
    first = list_plants_to_see(
        session, inspect_by=TODAY + 7 * DAY, tested_from=TODAY, tested_to=TODAY + 30 * DAY, most=1
    )
    assert ([plant.code for plant in first.plants], first.more) == (["S-0001"], 1)
    assert in_state(session, StockPlantsIn.TO_INSPECT) == ["S-0001"]


def test_a_list_of_a_state_is_turned_by_page(session: Session) -> None:
    for number in range(9):
        add(session, tested_until=days_ago(1) if number % 2 else None)
    wanted, on = StockPlantsIn.WATCHED, TODAY
    first = list_stock_plants(session, on=on, wanted=wanted, limit=2)
    assert [line.number for line in first.lines] == [2, 4]
    assert (first.earlier, first.later) == (False, True)
    second = list_stock_plants(session, on=on, wanted=wanted, after=4, limit=2)
    assert [line.number for line in second.lines] == [6, 8]
    assert (second.earlier, second.later) == (True, False)
    back = list_stock_plants(session, on=on, wanted=wanted, before=8, limit=2)
    assert [line.number for line in back.lines] == [4, 6]
    assert (back.earlier, back.later) == (True, True)


def test_a_running_reentry_time_is_on_hold(session: Session) -> None:
    add(session, reentry_at=NOW + timedelta(hours=1))
    moment = Moment(now=NOW, today=TODAY, zone="Europe/London")
    page = list_stock_plants(session, on=TODAY, moment=moment, wanted=StockPlantsIn.ON_HOLD)
    assert [line.standing.state for line in page.lines] == [StockPlantState.ON_HOLD]
    assert "10:00" in page.lines[0].standing.reason


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (update(StockPlant).values(plants=7), "plants is 7; what happened to it gives 1."),
        (
            update(StockPlant).values(tested_until=TODAY),
            f"tested_until is {TODAY}; what happened to it gives nothing.",
        ),
        (
            update(StockPlantEvent).values(stands=0),
            f"Its entry of {TODAY} (counted) does not count as the newest.",
        ),
    ],
)
def test_what_is_changed_behind_its_back_is_found(
    session: Session, plant_id: int, change: object, said: str
) -> None:
    assert plant_id
    session.execute(change)  # type: ignore[call-overload]
    assert [(one.record, one.sentence) for one in verify_log(session)] == [
        ("stock plant S-0001", said)
    ]
