"""Rounds on paper: the order is fixed, lines become checks one by one, none of them twice."""

from datetime import timedelta
from typing import Any

import pytest
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.domain.outcomes import CheckKind
from app.domain.people import Actor
from app.domain.problems import NotAccepted, NotFound
from app.domain.round_sheets import LinesEntry, TypedLine
from app.domain.typed_counts import RootedAs
from app.services.batches import void_batch
from app.services.checks import record_check, withdraw_check
from app.services.round_sheets import TypedIn, print_round_sheet, type_in_lines
from app.services.verifying import verify_log
from app.store.models.checks import Check
from app.store.models.round_sheets import RoundSheetLine
from app.store.queries.history import list_history
from app.store.queries.round_sheets import KnownSheet, get_round_sheet, list_round_sheets
from app.store.queries.today import list_round
from tests.conftest import NOW, TODAY
from tests.services.batch_records import add_bench, add_plant
from tests.services.check_records import Stuck, check, lost, said, stick, totals

LATER = NOW + timedelta(hours=3)


@pytest.fixture
def batches(session: Session, head: Actor) -> list[Stuck]:
    """Four late batches on two benches, the second bench walked first."""
    plant = add_plant(session)
    first, second = add_bench(session, "Frame", 2), add_bench(session, "Mist bench 1", 1)
    return [
        stick(session, head, plant=plant, bench_id=bench)
        for bench in (first, second, first, second)
    ]


def make(session: Session, actor: Actor, bench_id: int | None = None) -> KnownSheet:
    number = print_round_sheet(session, actor=actor, today=TODAY, now=NOW, bench_id=bench_id)
    return get_round_sheet(session, number=number)


def type_in(session: Session, actor: Actor, *lines: TypedLine, **more: Any) -> TypedIn:
    entry = LinesEntry(
        **{"checked_on": TODAY, "checked_by_id": 2, "typed_as": RootedAs.NEW, "lines": lines} | more
    )
    return type_in_lines(session, actor=actor, today=TODAY, now=LATER, number=1, entry=entry)


def line(position: int, **typed: Any) -> TypedLine:
    return TypedLine(position=position, **typed)


def checks(session: Session) -> int:
    return session.scalar(select(func.count()).select_from(Check)) or 0


def test_a_sheet_holds_todays_round_in_the_order_it_stands(
    session: Session, head: Actor, batches: list[Stuck]
) -> None:
    sheet = make(session, head)
    order = [due.code for due in list_round(session, on=TODAY)]
    assert [one.code for one in sheet.lines] == order
    assert [one.position for one in sheet.lines] == [1, 2, 3, 4]
    assert [name for name, _ in sheet.benches] == ["Mist bench 1", "Frame"]
    assert (sheet.lines[0].unrooted, sheet.lines[0].stuck, sheet.lines[0].age_days) == (96, 96, 42)
    assert [(cause.number, cause.name) for cause in sheet.causes[:2]] == [
        (1, "basal rot"),
        (2, "grey mould"),
    ]
    (entry,) = list_history(session, subject="round sheet 1", zone="UTC")
    assert entry.what == "round sheet made"


def test_the_order_stays_whatever_happens_since(
    session: Session, head: Actor, batches: list[Stuck]
) -> None:
    before = [one.code for one in make(session, head).lines]
    check(session, head, batches[0], said(0, rooted=96))
    check(session, head, batches[1], said(0, lost=lost(5)))
    assert len(list_round(session, on=TODAY)) == 2
    sheet = get_round_sheet(session, number=1)
    assert [one.code for one in sheet.lines] == before
    assert [one.unrooted for one in sheet.lines] == [96] * 4


def test_one_bench_alone(session: Session, head: Actor, batches: list[Stuck]) -> None:
    sheet = make(session, head, bench_id=1)
    assert [one.code for one in sheet.lines] == [batches[0].code, batches[2].code]
    assert sheet.head.bench == "Frame"
    with pytest.raises(NotAccepted, match="Choose a bench"):
        make(session, head, bench_id=99)


def test_nothing_due_is_nothing_to_print(session: Session, head: Actor) -> None:
    add_bench(session)
    with pytest.raises(NotAccepted, match="Nothing is late"):
        make(session, head)
    with pytest.raises(NotAccepted, match="Nothing on this bench"):
        make(session, head, bench_id=1)
    assert list_round_sheets(session) == ()


def test_good_lines_are_stored_and_wrong_ones_leave_nothing(
    session: Session, head: Actor, trainee: Actor, batches: list[Stuck]
) -> None:
    sheet = make(session, head)
    done = type_in(
        session,
        trainee,
        line(1, rooted="12", lost="3", cause="1"),
        line(2, rooted="97"),
        line(3, looked=True),
        line(4),
    )
    assert done.stored == 2
    assert [problem.field for problem in done.problems] == ["rooted-2"]
    assert "96" in done.problems[0].sentence
    assert checks(session) == 2
    sheet = get_round_sheet(session, number=1)
    stored = [one.stored for one in sheet.lines]
    assert stored[0] is not None
    assert stored[2] is not None
    assert (stored[0].counts.rooted, stored[0].checked_by) == (12, "Tomas Quill")
    assert stored[2].counts.kind is CheckKind.LOOKED_ONLY
    assert (stored[1], stored[3]) == (None, None)
    assert (sheet.head.typed, sheet.head.left) == (2, 2)
    assert sheet.first_open == sheet.lines[1]
    # Its own checks are not told as somebody else's.
    assert [one.meanwhile for one in sheet.lines] == [()] * 4
    assert list(verify_log(session)) == []


def test_the_same_lines_again_store_nothing_twice(
    session: Session, head: Actor, batches: list[Stuck]
) -> None:
    make(session, head)
    lines = (line(1, rooted="12"), line(2, rooted="97"))
    for _ in range(3):
        done = type_in(session, head, *lines)
        assert done.stored == 1
        assert [problem.field for problem in done.problems] == ["rooted-2"]
    assert checks(session) == 1
    mended = type_in(session, head, line(1, rooted="12"), line(2, rooted="9"))
    assert (mended.stored, mended.problems) == (2, ())
    assert checks(session) == 2


def test_other_content_never_takes_the_place_of_what_is_stored(
    session: Session, head: Actor, batches: list[Stuck]
) -> None:
    make(session, head)
    type_in(session, head, line(1, rooted="12"))
    done = type_in(session, head, line(1, rooted="13"))
    assert done.stored == 0
    assert "is stored already: 12 newly rooted. Open its check" in done.problems[0].sentence
    assert checks(session) == 1


def test_a_batch_checked_meanwhile_is_asked_about_before_it_counts_twice(
    session: Session, head: Actor, trainee: Actor, batches: list[Stuck]
) -> None:
    sheet = make(session, head)
    by_code = {batch.code: batch for batch in batches}
    first = by_code[sheet.lines[0].code]
    check_now(session, trainee, first, rooted=5)
    (told,) = get_round_sheet(session, number=1).lines[0].meanwhile
    assert told.counts.rooted == 5
    done = type_in(session, head, line(1, rooted="5"))
    assert [problem.field for problem in done.problems] == ["again-1"]
    assert "was checked Wed 25 Nov since the sheet was printed: 5 newly" in (
        done.problems[0].sentence
    )
    assert totals(session, first)[0] == 5
    # A look doubles no number, and a further count is taken once it is said to be one.
    assert type_in(session, head, line(1, looked=True)).stored == 1
    assert totals(session, first)[0] == 5


def test_a_further_count_is_taken_once_it_is_said(
    session: Session, head: Actor, batches: list[Stuck]
) -> None:
    sheet = make(session, head)
    first = {batch.code: batch for batch in batches}[sheet.lines[0].code]
    check_now(session, head, first, rooted=5)
    assert type_in(session, head, line(1, rooted="6", again=True)).problems == ()
    assert totals(session, first)[0] == 11


def check_now(session: Session, actor: Actor, batch: Stuck, *, rooted: int) -> None:
    """Write a check down after the sheet was printed."""
    record_check(
        session,
        actor=actor,
        today=TODAY,
        now=NOW + timedelta(hours=1),
        batch_id=batch.id,
        entry=said(0, rooted=rooted),
    )


def test_a_batch_cleared_or_void_meanwhile_is_told_by_its_line(
    session: Session, head: Actor, batches: list[Stuck]
) -> None:
    sheet = make(session, head)
    by_code = {batch.code: batch for batch in batches}
    check_now(session, head, by_code[sheet.lines[0].code], rooted=96)
    second = by_code[sheet.lines[1].code]
    void_batch(session, actor=head, today=TODAY, now=NOW, batch_id=second.id, reason="twice")
    lines = get_round_sheet(session, number=1).lines
    assert (lines[0].left, lines[1].void) == (0, True)
    done = type_in(
        session, head, line(1, rooted="1", again=True), line(2, rooted="1"), line(3, rooted="1")
    )
    assert done.stored == 1
    assert [problem.field for problem in done.problems] == ["rooted-1", "rooted-2"]
    assert "nothing is left to check" in done.problems[0].sentence
    assert "by mistake" in done.problems[1].sentence


def test_a_line_whose_check_was_withdrawn_is_open_again(
    session: Session, head: Actor, batches: list[Stuck]
) -> None:
    make(session, head)
    type_in(session, head, line(1, rooted="12"))
    stored = get_round_sheet(session, number=1).lines[0].stored
    assert stored is not None
    withdraw_check(
        session, actor=head, now=LATER, check_id=stored.id, version=1, reason="another line"
    )
    sheet = get_round_sheet(session, number=1)
    assert sheet.lines[0].is_open
    assert sheet.head.typed == 0
    assert type_in(session, head, line(1, rooted="21")).stored == 1
    again = get_round_sheet(session, number=1).lines[0].stored
    assert again is not None
    assert again.counts.rooted == 21


def test_a_day_still_to_come_is_refused_for_all(
    session: Session, head: Actor, batches: list[Stuck]
) -> None:
    make(session, head)
    with pytest.raises(NotAccepted) as refused:
        type_in(session, head, line(1, rooted="1"), checked_on=TODAY + timedelta(days=1))
    assert refused.value.problems[0].field == "checked_on"
    with pytest.raises(NotFound):
        get_round_sheet(session, number=2)


def test_the_last_printed_comes_first(session: Session, head: Actor, batches: list[Stuck]) -> None:
    for bench_id in (None, 1, 2):
        make(session, head, bench_id)
    assert [one.number for one in list_round_sheets(session)] == [3, 2, 1]
    assert [one.lines for one in list_round_sheets(session)] == [2, 2, 4]
    assert [one.number for one in list_round_sheets(session, before=3, limit=1)] == [2]


def test_a_line_with_a_foreign_check_is_found(
    session: Session, head: Actor, batches: list[Stuck]
) -> None:
    make(session, head)
    type_in(session, head, line(1, rooted="12"))
    row = session.scalars(select(RoundSheetLine).where(RoundSheetLine.position == 1)).one()
    other = session.scalars(select(RoundSheetLine).where(RoundSheetLine.position == 2)).one()
    other.check_id, row.check_id = row.check_id, None
    session.flush()
    (finding,) = verify_log(session)
    assert finding.record == "round sheet 1, line 2"
    assert finding.sentence == "Its check is of another batch."
