"""What the stock plants of a name give, read from what was taken from them."""

import pytest
from sqlalchemy.orm import Session

from app.domain.people import Actor
from app.store.queries.stock_yields import read_stock_yield
from tests.conftest import TODAY
from tests.services.batch_records import add_plant, add_stock_plant, days_ago, from_stock_plant
from tests.services.check_records import stick


@pytest.fixture
def plant_id(session: Session) -> int:
    return add_plant(session)


def test_cuts_plants_and_rests(session: Session, head: Actor, plant_id: int) -> None:
    old = add_stock_plant(session, plant_id, 1, plants=10, rest_weeks=4, expected_per_plant=9.0)
    young = add_stock_plant(session, plant_id, 2, plants=4, rest_weeks=6, expected_per_plant=5.0)
    add_stock_plant(session, plant_id, 3, plants=30, state="on hold", state_reason="spots")
    add_stock_plant(session, plant_id, 4, plants=50, state="discarded", discarded_on=TODAY)
    for ago, number in ((90, 80), (10, 60)):
        sources = (from_stock_plant(old, number),)
        stick(
            session,
            head,
            plant=plant_id,
            stuck=number,
            stuck_on=days_ago(ago),
            sources=sources,
        )
    found = read_stock_yield(session, plant_name_id=plant_id, genus_id=1, on=TODAY)
    assert sorted(found.cuts) == [6.0, 8.0]
    # The old ones rest after the last cut, and those on hold are not cut.
    assert (found.plants, found.fit) == (44, 4)
    assert (found.expected, found.rest_weeks) == (7.0, 6)
    assert young


def test_a_genus_takes_every_plant_of_it(session: Session, plant_id: int) -> None:
    other = add_plant(session, "Hebe 'Autumn Glory'")
    cistus = add_plant(session, "Cistus × purpureus")
    for number, plant in ((1, plant_id), (2, other), (3, cistus)):
        add_stock_plant(session, plant, number, plants=number)
    of_genus = read_stock_yield(session, plant_name_id=None, genus_id=1, on=TODAY)
    of_name = read_stock_yield(session, plant_name_id=other, genus_id=1, on=TODAY)
    assert (of_genus.plants, of_name.plants) == (3, 2)
    assert (of_name.cuts, of_name.expected, of_name.rest_weeks) == ((), None, None)
