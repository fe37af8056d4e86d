"""Plans are set by the head and bring the next dates of open batches up to date."""

import json
from datetime import timedelta

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.check_plans import CheckPlan, PlanLevel
from app.domain.cutting_types import CuttingType
from app.domain.outcomes import Ending
from app.domain.people import Actor
from app.domain.problems import ChangedMeanwhile, NotAccepted, NotAllowed, NotFound
from app.services.check_plans import NURSERY_PLACE, PlanPlace, refresh_open_batches, set_plan
from app.store.models.history import HistoryLine
from app.store.models.meta import Meta
from app.store.models.method_cards import MethodCard, MethodCardVersion
from app.store.queries.check_plans import (
    find_plan,
    list_card_times,
    list_genus_plans,
    read_plan_book,
)
from tests.conftest import NOW, TODAY
from tests.services.batch_records import add_container, add_plant, keep
from tests.services.check_records import Stuck, check, day, facts, said, stick

SOFTWOOD = {"cutting_type": CuttingType.SOFTWOOD}
GENUS_PLACE = PlanPlace(level=PlanLevel.GENUS, genus_id=1, cutting_type="softwood")


def plan(
    session: Session,
    actor: Actor,
    said: CheckPlan,
    *,
    place: PlanPlace = NURSERY_PLACE,
    version: int = 0,
) -> int:
    return set_plan(session, actor=actor, now=NOW, place=place, version=version, plan=said)


def add_card(session: Session, *, weeks_low: float | None, **more: object) -> MethodCard:
    values = {"genus_id": 1, "cutting_type": "softwood"} | more
    card = MethodCard(**values)  # type: ignore[arg-type]
    session.add(card)
    session.flush()
    version = MethodCardVersion(
        method_card_id=card.id, number=card.current or 1, made_at=NOW, weeks_low=weeks_low
    )
    keep(session, version)
    return card


def first_count(session: Session, batch: Stuck) -> int:
    """Days from sticking to the next count."""
    row = facts(session, batch)
    return int((row.next_count_on - row.stuck_on).days)


def test_the_nursery_plan_moves_every_open_batch(session: Session, head: Actor) -> None:
    batch = stick(session, head)
    cleared = stick(session, head, plant=1)
    check(session, head, cleared, said(7, ending=Ending.DUMPED))
    said_plan = CheckPlan(look_every_days=5, first_count_day=60, count_every_days=10)
    assert plan(session, head, said_plan) == 1
    row = facts(session, batch)
    assert row.next_look_on == day(37)
    assert row.next_count_on == day(42) + timedelta(days=60)
    assert facts(session, cleared).due_on is None
    check(session, head, batch, said(1, 3))
    assert facts(session, batch).next_count_on == TODAY + timedelta(days=9)


def test_a_genus_plan_moves_its_own_batches_only(session: Session, head: Actor) -> None:
    hebe = add_plant(session)
    other = add_plant(session, "Salvia nemorosa")
    batch = stick(session, head, plant=hebe, **SOFTWOOD)
    untyped = stick(session, head, plant=hebe)
    salvia = stick(session, head, plant=other, **SOFTWOOD)
    assert plan(session, head, CheckPlan(first_count_day=9), place=GENUS_PLACE) == 1
    assert [first_count(session, b) for b in (batch, untyped, salvia)] == [9, 21, 21]
    any_type = PlanPlace(level=PlanLevel.GENUS, genus_id=1)
    assert plan(session, head, CheckPlan(first_count_day=11), place=any_type) == 2
    assert [first_count(session, b) for b in (batch, untyped, salvia)] == [9, 11, 21]
    stored = list_genus_plans(session)
    assert [(p.genus, p.cutting_type, p.plan.first_count_day) for p in stored] == [
        ("Hebe", "", 11),
        ("Hebe", "softwood", 9),
    ]


def test_a_batch_plan_wins_and_can_be_taken_back(session: Session, head: Actor) -> None:
    batch = stick(session, head, **SOFTWOOD)
    plan(session, head, CheckPlan(first_count_day=9), place=GENUS_PLACE)
    place = PlanPlace(level=PlanLevel.BATCH, batch_id=batch.id)
    assert plan(session, head, CheckPlan(first_count_day=5), place=place) == 1
    assert first_count(session, batch) == 5
    assert plan(session, head, CheckPlan(), place=place, version=1) == 1
    assert first_count(session, batch) == 9
    stored = find_plan(session, level=PlanLevel.BATCH, batch_id=batch.id)
    assert (stored.plan, stored.version) == (CheckPlan(), 2)


def test_setting_a_plan_is_told_in_history(session: Session, head: Actor) -> None:
    batch = stick(session, head)
    place = PlanPlace(level=PlanLevel.BATCH, batch_id=batch.id)
    plan(session, head, CheckPlan(first_count_day=9), place=place)
    plan(session, head, CheckPlan(first_count_day=8, looks_only=True), place=place, version=1)
    lines = session.scalars(select(HistoryLine).order_by(HistoryLine.sequence)).all()[-2:]
    assert {line.what for line in lines} == {"check plan set"}
    assert {line.subject for line in lines} == {f"batch {batch.code}, check plan"}
    assert [json.loads(line.change) for line in lines] == [
        {"first_count_day": [None, 9]},
        {"first_count_day": [9, 8], "looks_only": [None, True]},
    ]


def test_a_plan_said_again_changes_nothing(session: Session, head: Actor) -> None:
    stick(session, head)
    assert plan(session, head, CheckPlan()) == 0
    plan(session, head, CheckPlan(look_every_days=5))
    assert plan(session, head, CheckPlan(look_every_days=5), version=1) == 0
    assert find_plan(session, level=PlanLevel.NURSERY).version == 1


def test_only_the_head_sets_plans(session: Session, trainee: Actor, manager: Actor) -> None:
    for actor in (trainee, manager):
        with pytest.raises(NotAllowed):
            plan(session, actor, CheckPlan(look_every_days=5))


def test_what_cannot_be_is_refused(session: Session, head: Actor) -> None:
    with pytest.raises(NotAccepted):
        plan(session, head, CheckPlan(look_every_days=0))
    for place in (
        PlanPlace(level=PlanLevel.BATCH, batch_id=9),
        PlanPlace(level=PlanLevel.GENUS, genus_id=9),
    ):
        with pytest.raises(NotFound):
            plan(session, head, CheckPlan(look_every_days=3), place=place)


def test_two_heads_do_not_overwrite_each_other(session: Session, head: Actor) -> None:
    plan(session, head, CheckPlan(look_every_days=5))
    with pytest.raises(ChangedMeanwhile) as changed:
        plan(session, head, CheckPlan(look_every_days=6), version=0)
    assert changed.value.version == 1
    stick(session, head)
    with pytest.raises(ChangedMeanwhile):
        plan(session, head, CheckPlan(look_every_days=6), place=GENUS_PLACE, version=3)


def test_the_first_count_comes_from_the_method_card(session: Session, head: Actor) -> None:
    hebe = add_plant(session)
    add_card(session, weeks_low=4)
    add_card(session, weeks_low=2, species="other")
    add_card(session, weeks_low=9, cutting_type="hardwood")
    batch = stick(session, head, plant=hebe, **SOFTWOOD)
    assert first_count(session, batch) == 28
    plan(session, head, CheckPlan(first_count_day=50))
    assert first_count(session, batch) == 28
    plan(session, head, CheckPlan(first_count_day=10), place=GENUS_PLACE)
    assert first_count(session, batch) == 10


def test_a_card_of_the_species_goes_before_that_of_its_genus(session: Session, head: Actor) -> None:
    add_plant(session)
    add_card(session, weeks_low=4)
    add_card(session, weeks_low=2, species="speciosa")
    add_card(session, weeks_low=None, species="albicans")
    retired = add_card(session, weeks_low=1, species="pinguifolia")
    retired.retired_at = NOW
    session.flush()
    book = read_plan_book(session)
    weeks = {
        species: time.weeks_low
        for species in ("speciosa", "albicans", "pinguifolia", "")
        if (
            time := book.card_time(
                plant_name_id=1, genus_id=1, species=species, cutting_type="softwood"
            )
        )
    }
    assert weeks == {"speciosa": 2, "albicans": 4, "pinguifolia": 4, "": 4}
    assert book.card_time(plant_name_id=1, genus_id=1, species="", cutting_type="leaf") is None
    assert [
        (species, time.weeks_low) for species, _, time in list_card_times(session, genus_id=1)
    ] == [
        ("", 4),
        ("speciosa", 2),
    ]


def test_a_card_of_one_plant_name_goes_before_all_and_speaks_for_it_alone(
    session: Session, head: Actor
) -> None:
    named = add_plant(session)
    add_card(session, weeks_low=4)
    add_card(session, weeks_low=7, plant_name_id=named)
    book = read_plan_book(session)
    asked = {"genus_id": 1, "species": "", "cutting_type": "softwood"}
    own = book.card_time(plant_name_id=named, **asked)
    other = book.card_time(plant_name_id=named + 1, **asked)
    assert own is not None
    assert other is not None
    assert (own.weeks_low, other.weeks_low) == (7, 4)
    batch = stick(session, head, plant=named, **SOFTWOOD)
    assert first_count(session, batch) == 49


def test_a_card_that_changes_moves_open_batches_when_asked(session: Session, head: Actor) -> None:
    hebe = add_plant(session)
    card = add_card(session, weeks_low=4)
    batch = stick(session, head, plant=hebe, **SOFTWOOD)
    keep(session, MethodCardVersion(method_card_id=card.id, number=2, made_at=NOW, weeks_low=3))
    card.current = 2
    session.flush()
    assert refresh_open_batches(session, genus_id=1, cutting_type="softwood") == 1
    assert first_count(session, batch) == 21
    assert refresh_open_batches(session, genus_id=1, cutting_type="hardwood") == 0


@pytest.mark.parametrize(("hemisphere", "month"), [("north", 10), ("south", 4)])
def test_hardwood_lined_out_is_counted_in_the_autumn(
    session: Session, head: Actor, hemisphere: str, month: int
) -> None:
    session.query(Meta).one().hemisphere = hemisphere
    ground = add_container(session, "Nursery bed", kind="lined out", plugs=None)
    batch = stick(
        session, head, container_id=ground, cutting_type=CuttingType.HARDWOOD, stuck_on=day(4)
    )
    row = facts(session, batch)
    assert row.due_on == row.next_look_on == TODAY + timedelta(days=3)
    assert (row.next_count_on.year, row.next_count_on.month, row.next_count_on.day) == (
        2027,
        month,
        1,
    )
