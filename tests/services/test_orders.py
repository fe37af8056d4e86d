"""Adding, correcting and ending orders."""

from datetime import date
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.orders import OrderEntry, OrderState
from app.domain.people import Actor
from app.domain.problems import ChangedMeanwhile, NotAccepted, NotFound
from app.services.orders import (
    WantedPlant,
    add_order,
    correct_order,
    end_order,
    keep_wanted_plant,
    reopen_order,
)
from app.store.models.history import HistoryLine
from app.store.models.orders import OrderBatch
from app.store.queries.orders import (
    batch_ids_by_order,
    find_order_of_batch,
    get_order,
    list_open_orders,
    list_orders,
    list_orders_for,
)
from tests.conftest import NOW, TODAY
from tests.services.batch_records import add_plant
from tests.services.check_records import stick

DUE = date(2027, 5, 17)


def add(session: Session, head: Actor, *, due_on: date = DUE, **more: Any) -> int:
    if "genus_id" not in more:
        more.setdefault("plant_name_id", 1)
    entry = OrderEntry(plants=500, due_on=due_on, **more)
    return add_order(session, actor=head, today=TODAY, now=NOW, entry=entry)


@pytest.fixture
def plant_id(session: Session) -> int:
    return add_plant(session)


def test_an_order_is_kept_as_entered(session: Session, head: Actor, plant_id: int) -> None:
    number = add(session, head, plant_name_id=plant_id, for_whom="spring sale", batches=5)
    order = get_order(session, number=number)
    assert (order.number, order.plant, order.genus) == (1, "Hebe 'Great Orme'", "Hebe")
    assert order.entry == OrderEntry(
        plants=500, due_on=DUE, plant_name_id=plant_id, for_whom="spring sale", batches=5
    )
    assert order.is_open
    line = session.scalars(select(HistoryLine)).one()
    assert (line.what, line.subject, line.change) == ("order added", "order 1", "{}")


def test_a_genus_alone_means_any_plant_of_it(session: Session, head: Actor, plant_id: int) -> None:
    wanted = keep_wanted_plant(session, actor=head, now=NOW, typed=" hebe ")
    assert wanted.plant_name_id is None
    order = get_order(session, number=add(session, head, genus_id=wanted.genus_id))
    assert (order.plant, order.whole_genus) == ("Hebe", True)
    assert keep_wanted_plant(
        session, actor=head, now=NOW, typed="Hebe 'Great Orme'"
    ) == WantedPlant(plant_name_id=plant_id)


def test_a_genus_new_to_the_log_is_asked_about(session: Session, head: Actor) -> None:
    kept: dict[str, Any] = {"actor": head, "now": NOW, "typed": "lavender"}
    with pytest.raises(NotAccepted, match="Only the genus is given") as refused:
        keep_wanted_plant(session, **kept)
    assert refused.value.problems[0].field == "plant"
    wanted = keep_wanted_plant(session, **kept, confirmed="Lavender")
    assert wanted.genus_id is not None and wanted.plant_name_id is None


def test_numbers_go_on_and_lists_go_by_day(session: Session, head: Actor, plant_id: int) -> None:
    add(session, head, plant_name_id=plant_id)
    add(session, head, plant_name_id=plant_id, due_on=date(2027, 3, 1))
    assert [order.number for order in list_orders(session)] == [2, 1]
    end_order(
        session,
        actor=head,
        now=NOW,
        number=2,
        version=1,
        state=OrderState.MET,
        ended_on=TODAY,
    )
    assert [order.number for order in list_open_orders(session)] == [1]


def test_an_order_is_corrected_with_its_history(
    session: Session, head: Actor, plant_id: int
) -> None:
    number = add(session, head, plant_name_id=plant_id)
    other = add_plant(session, "Cistus × purpureus")
    entry = OrderEntry(plants=600, due_on=DUE, plant_name_id=other)
    kept = {"actor": head, "today": TODAY, "now": NOW, "number": number}
    correct_order(session, **kept, version=1, entry=entry)  # type: ignore[arg-type]
    assert get_order(session, number=number).plant == "Cistus × purpureus"
    line = session.scalars(select(HistoryLine).order_by(HistoryLine.sequence.desc())).first()
    assert line is not None
    assert line.change == (
        '{"plant":["Hebe \'Great Orme\'","Cistus × purpureus"],"plants":[500,600]}'
    )
    with pytest.raises(ChangedMeanwhile):
        correct_order(session, **kept, version=1, entry=entry)  # type: ignore[arg-type]


def test_a_closed_order_wants_a_reason_and_is_not_corrected(
    session: Session, head: Actor, plant_id: int
) -> None:
    number = add(session, head, plant_name_id=plant_id)
    closing: dict[str, Any] = {
        "actor": head,
        "now": NOW,
        "number": number,
        "version": 1,
        "state": OrderState.CLOSED,
        "ended_on": TODAY,
    }
    with pytest.raises(NotAccepted, match="why") as refused:
        end_order(session, **closing, reason="  ")
    assert refused.value.problems[0].field == "reason"
    end_order(session, **closing, reason="called off")
    order = get_order(session, number=number)
    assert (order.state, order.ended_on, order.ended_reason) == (
        OrderState.CLOSED,
        TODAY,
        "called off",
    )
    with pytest.raises(NotAccepted, match="open it again"):
        correct_order(
            session,
            actor=head,
            today=TODAY,
            now=NOW,
            number=number,
            version=2,
            entry=order.entry,
        )
    with pytest.raises(NotAccepted, match="already"):
        end_order(session, **closing | {"version": 2}, reason="again")
    reopen_order(session, actor=head, now=NOW, number=number)
    assert get_order(session, number=number).is_open
    with pytest.raises(NotAccepted, match="is open"):
        reopen_order(session, actor=head, now=NOW, number=number)


@pytest.mark.parametrize("wrong", [{"plant_name_id": 99}, {"genus_id": 99}])
def test_a_record_that_is_not_there(session: Session, head: Actor, wrong: dict[str, int]) -> None:
    with pytest.raises(NotAccepted, match="plant's name, or a genus"):
        add(session, head, **wrong)
    assert list_orders(session) == ()


def test_an_order_that_is_not_there(session: Session) -> None:
    with pytest.raises(NotFound, match="no order 7"):
        get_order(session, number=7)


def test_batches_and_the_orders_they_may_count_to(session: Session, head: Actor) -> None:
    batch = stick(session, head)
    plant_id = add_plant(session, "Hebe 'Autumn Glory'")
    own = keep_wanted_plant(session, actor=head, now=NOW, typed="Hebe 'Great Orme'")
    genus = keep_wanted_plant(session, actor=head, now=NOW, typed="Hebe")
    add(session, head, plant_name_id=own.plant_name_id)
    add(session, head, plant_name_id=plant_id)
    add(session, head, genus_id=genus.genus_id)
    fitting = list_orders_for(
        session, plant_name_id=own.plant_name_id, genus_id=genus.genus_id or 0
    )
    assert [order.number for order in fitting] == [1, 3]
    first = get_order(session, number=1)
    session.add(OrderBatch(batch_id=batch.id, order_id=first.id))
    session.flush()
    assert find_order_of_batch(session, batch_id=batch.id) == first
    assert batch_ids_by_order(session, order_ids=[first.id, 2]) == {first.id: (batch.id,), 2: ()}
