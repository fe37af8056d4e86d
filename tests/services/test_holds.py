"""Holds: what a suspicion reaches is held, says so, and is let go again as it was."""

from collections.abc import Iterable

import pytest
from sqlalchemy import func, select, update
from sqlalchemy.orm import Session

from app.domain.batch_moves import MoveEntry
from app.domain.holds import HoldEntry, HoldWay
from app.domain.lines import Member, MemberKind
from app.domain.people import Actor
from app.domain.problems import NotAccepted, NotFound
from app.domain.stock_plants import Origin, StockPlantEntry, StockPlantState
from app.services.batch_moves import move_batch
from app.services.batches import void_batch
from app.services.holds import PlacedHold, hold_more, lift_hold, lift_item, place_hold
from app.services.stock_plants import (
    add_stock_plant,
    correct_stock_plant,
    discard_stock_plant,
    reinstate_stock_plant,
)
from app.services.verifying import verify_log
from app.store.models.holds import HoldItem
from app.store.models.stock_plants import StockPlant
from app.store.queries.hold_finds import list_touched
from app.store.queries.holds import get_hold, held_by, list_held_items, list_holds, list_holds_of
from tests.conftest import NOW, TODAY
from tests.services.batch_records import (
    add_bench,
    add_mix,
    add_mix_lot,
    add_plant,
    days_ago,
    from_stock_plant,
)
from tests.services.batch_records import add_stock_plant as put_stock_plant
from tests.services.check_records import Stuck, check, lost, said, stick


def batch(stuck: Stuck) -> Member:
    return Member(kind=MemberKind.BATCH, id=stuck.id)


def plant(plant_id: int) -> Member:
    return Member(kind=MemberKind.STOCK_PLANT, id=plant_id)


@pytest.fixture
def name(session: Session) -> int:
    return add_plant(session)


def reached(session: Session, suspect: Member, **more: object) -> dict[Member, HoldWay]:
    found = list_touched(session, suspect=suspect, **more)  # type: ignore[arg-type]
    assert len({each.member for each in found}) == len(found)
    return {each.member: each.way for each in found}


def place(
    session: Session,
    actor: Actor,
    suspect: Member,
    ways: Iterable[HoldWay] = (HoldWay.TAKEN_FROM_IT,),
) -> PlacedHold:
    entry = HoldEntry(suspect=suspect, suspected=" brown  stems ", ways=tuple(ways))
    touched = list_touched(session, suspect=suspect, ways=(HoldWay.ITSELF, *ways))
    return place_hold(session, actor=actor, today=TODAY, now=NOW, entry=entry, touched=touched)


def lift(session: Session, actor: Actor, hold: PlacedHold, reason: str = "tested clean") -> None:
    lift_hold(session, actor=actor, now=NOW, hold_id=hold.id, reason=reason)


def correct_state(session: Session, actor: Actor, plant_id: int, state: StockPlantState) -> None:
    row = session.get_one(StockPlant, plant_id)
    entry = StockPlantEntry(plant_name_id=row.plant_name_id, state=state)
    correct_stock_plant(
        session,
        actor=actor,
        today=TODAY,
        now=NOW,
        stock_plant_id=plant_id,
        version=row.version,
        entry=entry,
    )


def faults(session: Session) -> list[str]:
    session.flush()
    return [f"{found.record}: {found.sentence}" for found in verify_log(session)]


def test_what_was_taken_from_it_and_where_it_came_from(
    session: Session, head: Actor, name: int
) -> None:
    mother, aunt = put_stock_plant(session, name), put_stock_plant(session, name, number=32)
    suspect = stick(session, head, plant=name, sources=(from_stock_plant(mother),))
    sister = stick(session, head, plant=name, sources=(from_stock_plant(mother),))
    other = stick(session, head, plant=name, sources=(from_stock_plant(aunt),))
    entry = StockPlantEntry(
        plant_name_id=name, origin=Origin.RAISED_HERE, raised_from_id=suspect.id
    )
    child = add_stock_plant(session, actor=head, today=TODAY, now=NOW, entry=entry)
    grandchild = stick(session, head, plant=name, sources=(from_stock_plant(child.id),))
    found = reached(session, batch(suspect))
    assert found == {
        batch(suspect): HoldWay.ITSELF,
        plant(child.id): HoldWay.TAKEN_FROM_IT,
        batch(grandchild): HoldWay.TAKEN_FROM_IT,
        plant(mother): HoldWay.CAME_FROM,
        batch(sister): HoldWay.SAME_SOURCE,
    }
    assert batch(other) not in found


def test_since_a_day_only_what_was_cut_from_then_on(
    session: Session, head: Actor, name: int
) -> None:
    mother = put_stock_plant(session, name)
    old = stick(
        session, head, plant=name, stuck_on=days_ago(90), sources=(from_stock_plant(mother),)
    )
    new = stick(
        session, head, plant=name, stuck_on=days_ago(9), sources=(from_stock_plant(mother),)
    )
    ways = (HoldWay.TAKEN_FROM_IT,)
    assert set(reached(session, plant(mother), ways=ways)) == {batch(old), batch(new)}
    assert set(reached(session, plant(mother), ways=ways, since_on=days_ago(9))) == {batch(new)}


def test_the_same_mix_lot(session: Session, head: Actor, name: int) -> None:
    version = add_mix(session)[0]
    lot, later = add_mix_lot(session, version), add_mix_lot(session, version, number=2)
    suspect = stick(session, head, plant=name, mix_lot_id=lot)
    same = stick(session, head, plant=name, mix_lot_id=lot)
    stick(session, head, plant=name, mix_lot_id=later)
    stick(session, head, plant=name)
    ways = (HoldWay.SAME_MIX_LOT,)
    assert set(reached(session, batch(suspect), ways=ways)) == {batch(suspect), batch(same)}
    unknown = stick(session, head, plant=name)
    assert reached(session, batch(unknown), ways=ways) == {}


def test_the_same_bench_at_the_time(session: Session, head: Actor, name: int) -> None:
    bench, away = add_bench(session), add_bench(session, "Cold frame", walking_order=2)
    neighbour = put_stock_plant(session, name)
    entry = StockPlantEntry(plant_name_id=name, bench_id=bench, came_on=days_ago(300))
    there = add_stock_plant(session, actor=head, today=TODAY, now=NOW, entry=entry)
    gone = stick(session, head, plant=name, bench_id=bench, stuck_on=days_ago(200))
    check(session, head, gone, said(100, 96))
    suspect = stick(session, head, plant=name, bench_id=bench, stuck_on=days_ago(50))
    beside = stick(session, head, plant=name, bench_id=bench, stuck_on=days_ago(40))
    after = stick(session, head, plant=name, bench_id=bench, stuck_on=days_ago(10))
    void = stick(session, head, plant=name, bench_id=bench, stuck_on=days_ago(40))
    void_batch(session, actor=head, today=TODAY, now=NOW, batch_id=void.id, reason="twice")
    move_batch(
        session,
        actor=head,
        today=TODAY,
        now=NOW,
        batch_id=suspect.id,
        entry=MoveEntry(moved_on=days_ago(20), to_bench_id=away),
    )
    ways = (HoldWay.SAME_BENCH,)
    assert set(reached(session, batch(suspect), ways=ways)) == {
        batch(suspect), batch(beside), plant(there.id),
    }  # fmt: skip
    assert batch(after) in reached(session, plant(there.id), ways=ways)
    # What was cleared before the day of the suspicion had left the bench by then.
    assert batch(gone) in reached(session, plant(there.id), ways=ways)
    since = reached(session, plant(there.id), ways=ways, since_on=days_ago(60))
    assert batch(gone) not in since
    assert plant(neighbour) not in since


def test_the_same_people_on_the_same_day(session: Session, head: Actor, name: int) -> None:
    suspect = stick(session, head, plant=name, made_by_id=2, stuck_by_id=2)
    tools = stick(session, head, plant=name, gathered_by_id=2)
    stick(session, head, plant=name, made_by_id=2, stuck_on=days_ago(41))
    stick(session, head, plant=name, made_by_id=3)
    nobody = stick(session, head, plant=name)
    ways = (HoldWay.SAME_HANDS,)
    assert set(reached(session, batch(suspect), ways=ways)) == {batch(suspect), batch(tools)}
    assert reached(session, batch(nobody), ways=ways) == {}


def test_a_held_stock_plant_is_on_hold_until_it_is_lifted(
    session: Session, head: Actor, name: int
) -> None:
    mother = put_stock_plant(session, name, state="watched", state_reason="pale")
    cut = stick(session, head, plant=name, sources=(from_stock_plant(mother),))
    hold = place(session, head, plant(mother))
    row = session.get_one(StockPlant, mother)
    assert (row.state, row.state_reason) == ("on hold", "H-0001: brown stems")
    assert [each.code for each in list_holds_of(session, member=batch(cut))] == ["H-0001"]
    assert get_hold(session, code="h1").held == 2
    with pytest.raises(NotAccepted, match=r"held by H-0001: brown stems") as refused:
        correct_state(session, head, mother, StockPlantState.FIT)
    assert refused.value.problems[0].field == "state"
    assert faults(session) == []
    lift(session, head, hold)
    session.expire_all()
    assert (row.state, row.state_reason) == ("watched", "pale")
    assert held_by(session, members=[plant(mother), batch(cut)]) == {}
    known = get_hold(session, code="H-0001")
    assert (known.held, known.lift_reason, known.lifted_by) == (0, "tested clean", head.name)
    assert [each.number for each in list_holds(session, lifted=True)] == [1]
    assert list_holds(session) == ()


def test_two_holds_on_one_plant_let_it_go_only_together(
    session: Session, head: Actor, name: int
) -> None:
    mother = put_stock_plant(session, name)
    first, second = place(session, head, plant(mother)), place(session, head, plant(mother))
    lift(session, head, first)
    row = session.get_one(StockPlant, mother)
    assert (row.state, row.state_reason) == ("on hold", "H-0002: brown stems")
    lift(session, head, second)
    assert (row.state, row.state_reason) == ("fit to cut", "")


def test_one_thing_alone_is_freed(session: Session, head: Actor, name: int) -> None:
    mother = put_stock_plant(session, name)
    cut = stick(session, head, plant=name, sources=(from_stock_plant(mother),))
    hold = place(session, head, plant(mother))
    items = {item.member: item for item in list_held_items(session, hold_id=hold.id)}
    assert items[batch(cut)].way is HoldWay.TAKEN_FROM_IT
    item_id = items[batch(cut)].id
    lift_item(session, actor=head, now=NOW, item_id=item_id, reason="looked at, clean")
    assert list_holds_of(session, member=batch(cut)) == ()
    assert session.get_one(StockPlant, mother).state == "on hold"
    with pytest.raises(NotAccepted, match="free already"):
        lift_item(session, actor=head, now=NOW, item_id=item_id, reason="again")
    with pytest.raises(NotFound):
        lift_item(session, actor=head, now=NOW, item_id=99, reason="none such")


def test_what_comes_in_later_is_held_as_well_and_once(
    session: Session, head: Actor, name: int
) -> None:
    mother = put_stock_plant(session, name)
    hold = place(session, head, plant(mother))
    late = stick(
        session, head, plant=name, sources=(from_stock_plant(mother),), hold_reason="for a test"
    )
    touched = list_touched(session, suspect=plant(mother))
    kept = {"session": session, "actor": head, "now": NOW, "hold_id": hold.id}
    assert hold_more(**kept, touched=touched) == 1  # type: ignore[arg-type]
    assert hold_more(**kept, touched=touched) == 0  # type: ignore[arg-type]
    assert list_holds_of(session, member=batch(late))
    lift(session, head, hold)
    with pytest.raises(NotAccepted, match="lifted already"):
        hold_more(**kept, touched=touched)  # type: ignore[arg-type]
    with pytest.raises(NotAccepted, match="lifted already"):
        lift(session, head, hold)


def test_nothing_is_multiplied_from_a_held_batch(session: Session, head: Actor, name: int) -> None:
    suspect = stick(session, head, plant=name)
    hold = place(session, head, batch(suspect))
    because = r"26-0001 is on hold \(H-0001: brown stems\)"
    with pytest.raises(NotAccepted, match=because) as refused:
        stick(session, head, plant=name, stuck=10, stuck_on=TODAY, restuck_from_id=suspect.id)
    assert refused.value.problems[0].field == "restuck_from"
    entry = StockPlantEntry(
        plant_name_id=name, origin=Origin.RAISED_HERE, raised_from_id=suspect.id
    )
    with pytest.raises(NotAccepted, match=because) as refused:
        add_stock_plant(session, actor=head, today=TODAY, now=NOW, entry=entry)
    assert refused.value.problems[0].field == "raised_from"
    check(session, head, suspect, said(3, 20, lost=lost(4)))
    lift(session, head, hold)
    stick(session, head, plant=name, stuck=10, stuck_on=TODAY, restuck_from_id=suspect.id)
    add_stock_plant(session, actor=head, today=TODAY, now=NOW, entry=entry)


def test_a_held_plant_may_be_discarded_and_comes_back_on_hold(
    session: Session, head: Actor, name: int
) -> None:
    mother = put_stock_plant(session, name)
    hold = place(session, head, plant(mother))
    row = session.get_one(StockPlant, mother)
    discard_stock_plant(
        session,
        actor=head,
        now=NOW,
        today=TODAY,
        stock_plant_id=mother,
        version=row.version,
        discarded_on=TODAY,
        reason="burnt",
    )
    assert faults(session) == []
    reinstate_stock_plant(session, actor=head, today=TODAY, now=NOW, stock_plant_id=mother)
    assert (row.state, row.state_reason) == ("on hold", "H-0001: brown stems")
    lift(session, head, hold)
    assert row.state == "fit to cut"


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"suspected": "  "}, "suspected"),
        ({"suspected": "x" * 201}, "suspected"),
        ({"since_on": days_ago(-1)}, "since_on"),
    ],
)
def test_a_hold_that_says_too_little_is_refused_by_its_field(
    session: Session, head: Actor, name: int, more: dict[str, object], field: str
) -> None:
    suspect = batch(stick(session, head, plant=name))
    entry = HoldEntry(**{"suspect": suspect, "suspected": "rot"} | more)  # type: ignore[arg-type]
    with pytest.raises(NotAccepted) as refused:
        place_hold(session, actor=head, today=TODAY, now=NOW, entry=entry, touched=())
    assert refused.value.problems[0].field == field
    assert session.scalar(select(func.count()).select_from(HoldItem)) == 0


def test_lifting_wants_a_reason_of_a_readable_length(
    session: Session, head: Actor, name: int
) -> None:
    hold = place(session, head, batch(stick(session, head, plant=name)))
    for reason in (" ", "x" * 501):
        with pytest.raises(NotAccepted) as refused:
            lift(session, head, hold, reason)
        assert refused.value.problems[0].field == "reason"
    assert get_hold(session, code=hold.code).lifted_at is None
    with pytest.raises(NotFound, match="There is no hold H-0009"):
        get_hold(session, code="H-0009")


def test_a_state_changed_behind_the_programs_back_is_found(
    session: Session, head: Actor, name: int
) -> None:
    mother = put_stock_plant(session, name)
    place(session, head, plant(mother))
    session.execute(update(StockPlant).where(StockPlant.id == mother).values(state="fit to cut"))
    assert faults(session) == ["stock plant S-0031: A hold holds it, but its state is fit to cut."]
