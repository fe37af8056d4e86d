"""Dispatches: plants leave their lots, add up, come back when withdrawn, and are found again."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.dispatches import DispatchEntry, SentLine, read_lines
from app.domain.holds import HoldEntry
from app.domain.liner_contents import batches_by_lot
from app.domain.liner_stages import LotHead, Stage, StageEvent
from app.domain.lines import Member, MemberKind
from app.domain.people import Actor
from app.domain.problems import ChangedMeanwhile, NotAccepted, NotFound
from app.services.dispatches import SentDispatch, correct_dispatch, send_out, withdraw_dispatch
from app.services.holds import place_hold
from app.store.models.history import HistoryLine
from app.store.models.liner_lots import LinerLot
from app.store.queries.dispatches import (
    get_dispatch,
    get_whereabouts,
    list_dispatch_lines,
    list_dispatches,
)
from app.store.queries.hold_finds import list_touched
from app.store.queries.line_members import get_line_members
from tests.conftest import NOW, TODAY
from tests.services.batch_records import add_plant
from tests.services.check_records import Stuck, check, lost, said
from tests.services.liner_records import (
    after_rooting,
    findings,
    happened,
    merge,
    pot,
    rooted_batch,
    split,
    stage,
    there,
    withdraw,
)


def send(
    session: Session, actor: Actor, *lines: tuple[str, int], to: str = "Wetherby"
) -> SentDispatch:
    entry = DispatchEntry(
        sent_on=TODAY,
        to_name=to,
        reference="4711",
        lines=tuple(SentLine(code=code, number=number) for code, number in lines),
    )
    return send_out(session, actor=actor, today=TODAY, now=NOW, entry=entry)


def take_back(session: Session, actor: Actor, sent: SentDispatch, reason: str = "wrong") -> None:
    withdraw_dispatch(
        session, actor=actor, today=TODAY, now=NOW, dispatch_id=sent.id, reason=reason
    )


def ready_lot(session: Session, actor: Actor, batch: Stuck, number: int) -> int:
    lot = pot(session, actor, batch, number)
    happened(session, actor, lot, stage(Stage.READY, 5))
    return lot


def is_here(session: Session, batch: Stuck) -> bool:
    member = Member(kind=MemberKind.BATCH, id=batch.id)
    return get_line_members(session, members=[member], on=TODAY)[member].is_here


def test_plants_leave_their_lots_and_come_back_when_it_is_withdrawn(
    session: Session, head: Actor
) -> None:
    batch = rooted_batch(session, head)
    lot = ready_lot(session, head, batch, 50)
    sent = send(session, head, ("l1", 30))
    assert there(session, lot) == 20
    known = get_dispatch(session, code="g1")
    assert (known.to_name, known.reference, known.plants) == ("Wetherby", "4711", 30)
    lines = list_dispatch_lines(session, dispatch_id=sent.id)
    assert [(line.lot, line.number) for line in lines] == [("L-0001", 30)]
    with pytest.raises(NotAccepted, match="belongs to dispatch G-0001"):
        withdraw(session, head, *lines[0].stage_ids)
    take_back(session, head, sent)
    assert there(session, lot) == 50
    assert get_dispatch(session, code="G-0001").withdraw_reason == "wrong"
    with pytest.raises(NotAccepted, match="withdrawn already"):
        take_back(session, head, sent)
    assert findings(session) == []


def test_rooted_cuttings_leave_in_the_trays_of_their_batch(session: Session, head: Actor) -> None:
    batch = rooted_batch(session, head, 80)
    sent = send(session, head, (batch.code, 60))
    assert after_rooting(session, batch) == (60, 60, 0, 0)
    assert is_here(session, batch)
    with pytest.raises(NotAccepted, match="26-0001: "), session.begin_nested():
        send(session, head, (batch.code, 21))
    take_back(session, head, sent)
    assert after_rooting(session, batch) == (0, 0, 0, 0)
    assert findings(session) == []


def test_a_batch_is_gone_once_its_last_plant_left(session: Session, head: Actor) -> None:
    batch = rooted_batch(session, head, 80)
    check(session, head, batch, said(12, 0, lost=lost(16)))
    ready_lot(session, head, batch, 80)
    assert is_here(session, batch)
    send(session, head, ("L-0001", 80))
    assert not is_here(session, batch)


def test_where_plants_went_is_found_through_splits_and_merges(
    session: Session, head: Actor
) -> None:
    plant = add_plant(session)
    one, other = (rooted_batch(session, head, plant=plant) for _ in range(2))
    first, second = (ready_lot(session, head, batch, 40) for batch in (one, other))
    part = split(session, head, first, 10)
    both = merge(session, head, [part, second])
    code = session.get_one(LinerLot, both).code
    send(session, head, (code, 15), ("L-0001", 5), to="Ashdown")
    found = get_whereabouts(session, batch_ids=[one.id])
    assert [(lot.code, lot.number) for lot in found.here] == [("L-0001", 25), (code, 35)]
    assert [(sent.to_name, sent.lot, sent.number) for sent in found.sent] == [
        ("Ashdown", code, 15),
        ("Ashdown", "L-0001", 5),
    ]
    assert found.here[1].batch_ids == {one.id, other.id}
    other_found = get_whereabouts(session, batch_ids=[other.id])
    assert [sent.lot for sent in other_found.sent] == [code]
    assert get_whereabouts(session, batch_ids=[]).here == ()


def test_nothing_is_sent_of_what_is_on_hold(session: Session, head: Actor) -> None:
    batch = rooted_batch(session, head)
    lot = ready_lot(session, head, batch, 50)
    suspect = Member(kind=MemberKind.BATCH, id=batch.id)
    touched = list_touched(session, suspect=suspect)
    entry = HoldEntry(suspect=suspect, suspected="spots")
    place_hold(session, actor=head, today=TODAY, now=NOW, entry=entry, touched=touched)
    for code in ("L-0001", batch.code):
        with pytest.raises(NotAccepted, match="on hold") as refused:
            send(session, head, (code, 1))
        assert refused.value.problems[0].field == "lines"
    with pytest.raises(NotAccepted, match="on hold"):
        happened(session, head, lot, stage(Stage.SENT_OUT, number=1))
    assert there(session, lot) == 50


@pytest.mark.parametrize(
    ("values", "field"),
    [
        ({"to_name": " "}, "to_name"),
        ({"to_name": "x" * 121}, "to_name"),
        ({"lines": ()}, "lines"),
        ({"sent_on": date(2026, 12, 1)}, "sent_on"),
        ({"lines": (SentLine(code="L-0009", number=1),)}, "lines"),
    ],
)
def test_what_cannot_be_is_refused_by_its_field(
    session: Session, head: Actor, values: dict[str, object], field: str
) -> None:
    said = {"sent_on": TODAY, "to_name": "W", "lines": (SentLine(code="L-0001", number=1),)}
    entry = DispatchEntry(**said | values)  # type: ignore[arg-type]
    with pytest.raises(NotAccepted) as refused:
        send_out(session, actor=head, today=TODAY, now=NOW, entry=entry)
    assert refused.value.problems[0].field == field


def test_to_whom_is_put_right_and_kept_out_of_the_history(session: Session, head: Actor) -> None:
    ready_lot(session, head, rooted_batch(session, head), 50)
    sent = send(session, head, ("L-0001", 30))
    kept = {"session": session, "actor": head, "now": NOW, "dispatch_id": sent.id}
    said = {"to_name": "Ashdown", "reference": "4712", "notes": ""}
    correct_dispatch(**kept, version=1, **said)  # type: ignore[arg-type]
    assert get_dispatch(session, code="G-0001").to_name == "Ashdown"
    changes = " ".join(session.scalars(select(HistoryLine.change)))
    assert "4712" in changes
    assert "Ashdown" not in changes
    assert "Wetherby" not in changes
    with pytest.raises(ChangedMeanwhile):
        correct_dispatch(**kept, version=1, **said | {"to_name": "B"})  # type: ignore[arg-type]
    assert [one.code for one in list_dispatches(session, text="ash 47")] == ["G-0001"]
    assert list_dispatches(session, text="wetherby") == ()
    with pytest.raises(NotFound):
        get_dispatch(session, code="G-0009")


@pytest.mark.parametrize(
    ("text", "read"),
    [
        ("L-0001 120", [("L-0001", 120)]),
        ("l1, 1,200\n\n26-0147: 40", [("l1", 1200), ("26-0147", 40)]),
        ("L-0002 x 5", [("L-0002", 5)]),
    ],
)
def test_lines_are_read_as_one_writes_them(text: str, read: list[tuple[str, int]]) -> None:
    assert [(line.code, line.number) for line in read_lines(text)] == read


@pytest.mark.parametrize("text", ["L-0001", "120", "L-0001 none", "L-0001 0"])
def test_a_line_that_cannot_be_read_is_named(text: str) -> None:
    with pytest.raises(NotAccepted, match="Line 2 is to be") as refused:
        read_lines(f"L-0002 3\n{text}")
    assert refused.value.problems[0].field == "lines"


@given(st.lists(st.tuples(st.integers(0, 5), st.integers(1, 9)), max_size=20))
def test_a_lot_holds_plants_of_all_that_led_to_it(pairs: list[tuple[int, int]]) -> None:
    # Lot n is potted up from batch n for n up to 5; then plants go on from lot to higher lot.
    heads = [
        LotHead(id=lot, code=f"L-{lot}", batch_id=lot if lot < 6 else None) for lot in range(10)
    ]
    onward = [(first, first + step) for first, step in pairs if first + step < 10]
    events = [
        StageEvent(
            id=place,
            position=place,
            stage=Stage.SPLIT,
            on=TODAY,
            number=1,
            lot_id=first,
            into_id=into,
        )
        for place, (first, into) in enumerate(onward)
    ]
    found = batches_by_lot(heads, events=events)
    for lot in range(10):
        reached, edge = {lot}, [lot]
        while edge:
            edge = [first for first, into in onward if into in edge and first not in reached]
            reached |= set(edge)
        assert found.get(lot, frozenset()) == {one for one in reached if one < 6}
