"""What wants a look, by bench in walking order, at a cost that cleared batches do not raise."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from sqlalchemy import event, insert, select, text, update
from sqlalchemy.orm import Session

from app.domain.check_entries import CheckEntry
from app.domain.cutting_types import CuttingType
from app.domain.due import DueFor, DueState
from app.domain.due_lists import NO_BENCH, DueBatch
from app.domain.hormones import Hormone
from app.domain.outcomes import CheckKind, Ending
from app.domain.people import Actor
from app.domain.problems import NotFound
from app.store.models.batches import Batch, BatchFacts
from app.store.models.benches import BenchStay
from app.store.models.fits import OutlookRow
from app.store.models.method_cards import MethodCard, MethodCardVersion
from app.store.queries.batch_lists import BatchesIn, BatchesWanted, list_batches
from app.store.queries.bench_batches import get_bench_name, list_standing_batches
from app.store.queries.today import count_late, find_due_batch, list_due, list_round
from app.store.session import Database
from tests.conftest import NOW, TODAY
from tests.services.batch_records import add_bench, add_container, add_plant, keep
from tests.services.check_records import Stuck, check, day, lost, said, stick


def due_in(session: Session, actor: Actor, days: int, **more: Any) -> Stuck:
    """Stick a batch whose next look is due in so many days, by a look seven days before."""
    batch = stick(session, actor, stuck_on=day(20), **more)
    if days < 7:
        look = CheckEntry(checked_on=day(7 - days), kind=CheckKind.LOOKED_ONLY)
        check(session, actor, batch, look)
    return batch


def lines(session: Session, *, on: date = TODAY) -> list[DueBatch]:
    return [batch for bench in list_due(session, on=on).benches for batch in bench.batches]


def test_nothing_open_is_nothing_due(session: Session) -> None:
    due = list_due(session, on=TODAY)
    assert (due.late, due.due_today, due.coming, due.benches, due.next_due_on) == (
        0,
        0,
        0,
        (),
        None,
    )


@pytest.fixture
def plant(session: Session) -> int:
    return add_plant(session)


def test_late_due_today_and_coming(session: Session, head: Actor, plant: int) -> None:
    codes = {days: due_in(session, head, days, plant=plant).code for days in (-3, -1, 0, 1, 6)}
    far = stick(session, head, plant=plant, stuck_on=TODAY)
    counted_away = stick(session, head, plant=plant)
    check(session, head, counted_away, said(0, 3))
    due = list_due(session, on=TODAY)
    assert (due.late, due.due_today, due.coming) == (2, 1, 4)
    states = {batch.code: batch.state for batch in lines(session)}
    assert states == {
        codes[-3]: DueState.LATE,
        codes[-1]: DueState.LATE,
        codes[0]: DueState.DUE_TODAY,
        codes[1]: DueState.COMING,
        codes[6]: DueState.COMING,
        far.code: DueState.COMING,
        counted_away.code: DueState.COMING,
    }
    assert count_late(session, on=TODAY) == 2
    assert due.next_due_on == TODAY - timedelta(days=3)
    tomorrow = list_due(session, on=TODAY + timedelta(days=1))
    assert (tomorrow.late, tomorrow.due_today) == (3, 2)  # a look, and a first count on day 21


def test_benches_come_in_walking_order_and_batches_by_day(
    session: Session, head: Actor, plant: int
) -> None:
    frame = add_bench(session, "Cold frame A", walking_order=2)
    mist = add_bench(session, "Mist bench 2", walking_order=1)
    nowhere = due_in(session, head, -9, plant=plant)
    in_frame = due_in(session, head, 0, plant=plant, bench_id=frame)
    later = due_in(session, head, -1, plant=plant, bench_id=mist)
    earlier = due_in(session, head, -2, plant=plant, bench_id=mist)
    due = list_due(session, on=TODAY)
    assert [(b.name, [batch.code for batch in b.batches]) for b in due.benches] == [
        ("Mist bench 2", [earlier.code, later.code]),
        ("Cold frame A", [in_frame.code]),
        (NO_BENCH, [nowhere.code]),
    ]
    assert due.benches[0].number(DueState.LATE) == 2
    assert (due.benches[0].bench_id, due.benches[2].bench_id) == (mist, None)


def test_a_batch_on_two_benches_is_told_once(session: Session, head: Actor, plant: int) -> None:
    first = add_bench(session, "Mist 1", walking_order=1)
    second = add_bench(session, "Mist 2", walking_order=2)
    batch = due_in(session, head, 0, plant=plant, bench_id=second)
    keep(session, BenchStay(batch_id=batch.id, bench_id=first, trays=2, from_on=day(3)))
    moved_away = BenchStay(batch_id=batch.id, bench_id=first, from_on=day(9), to_on=day(8))
    keep(session, moved_away)
    (line,) = lines(session)
    assert (line.bench, line.also_on) == ("Mist 1", ("Mist 2",))


def test_a_line_says_all_it_needs(session: Session, head: Actor, plant: int) -> None:
    batch = stick(
        session,
        head,
        plant=plant,
        cutting_type=CuttingType.SEMI_RIPE,
        hormone=Hormone(substance="IBA", form="talc", ppm=1000),
    )
    check(session, head, batch, said(17, 38, lost=lost(11, "slugs")))
    (line,) = lines(session)
    assert (line.plant, line.cutting_type, line.hormone) == (
        "Hebe 'Great Orme'",
        "semi-ripe",
        "IBA talc 1000 ppm",
    )
    assert (line.age_days, line.due_on, line.state) == (42, day(10), DueState.LATE)
    assert (line.standing.rooted, line.standing.lost, line.standing.unrooted) == (38, 11, 47)
    assert line.expect == "count due; 38 rooted and 47 not rooted yet 17 days ago"
    assert line.urgent == ("late by over a week",)


def test_rot_that_spreads_is_urgent_until_a_look_finds_all_well(
    session: Session, head: Actor, plant: int
) -> None:
    batch = stick(session, head, plant=plant)
    check(session, head, batch, said(3, 5, lost=(*lost(2, "slugs"), *lost(1, "grey mould"))))
    assert lines(session)[0].urgent == ("grey mould at the last check, and it spreads",)
    check(session, head, batch, said(1, kind=CheckKind.LOOKED_ONLY))
    assert lines(session)[0].urgent == ()


def test_what_to_expect_comes_from_the_card(session: Session, head: Actor, plant: int) -> None:
    card = keep(session, MethodCard(genus_id=1, cutting_type="softwood"))
    keep(
        session,
        MethodCardVersion(
            method_card_id=card, number=1, made_at=NOW, weeks_low=6, weeks_high=8, standings={}
        ),
    )
    batch = stick(session, head, plant=plant, cutting_type=CuttingType.SOFTWOOD)
    check(session, head, batch, said(1, kind=CheckKind.LOOKED_ONLY))
    (line,) = lines(session)
    assert line.expect == (
        "first count due: roots usually after 6 to 8 weeks, common practice, no source"
    )


def test_lined_out_hardwood_is_looked_at_for_frost(
    session: Session, head: Actor, plant: int
) -> None:
    bed = add_container(session, "Bed", kind="lined out", plugs=None)
    due_in(session, head, 0, plant=plant, container_id=bed, cutting_type=CuttingType.HARDWOOD)
    assert "frost" in lines(session)[0].expect


def test_the_round_goes_through_what_wants_a_look_now(
    session: Session, head: Actor, plant: int
) -> None:
    frame = add_bench(session, "Cold frame A", walking_order=2)
    mist = add_bench(session, "Mist bench 2", walking_order=1)
    second = due_in(session, head, -3, plant=plant, bench_id=frame)
    first = due_in(session, head, 0, plant=plant, bench_id=mist)
    due_in(session, head, 1, plant=plant, bench_id=mist)
    assert [batch.code for batch in list_round(session, on=TODAY)] == [first.code, second.code]


def test_one_batch_says_what_its_next_check_is(session: Session, head: Actor, plant: int) -> None:
    batch = stick(session, head, plant=plant)
    told = find_due_batch(session, on=TODAY, batch_id=batch.id)
    assert told is not None
    assert (told.code, told.wants, told.due_on) == (batch.code, DueFor.COUNT, day(35))
    check(session, head, batch, said(7, ending=Ending.DUMPED))
    assert find_due_batch(session, on=TODAY, batch_id=batch.id) is None


def expect(session: Session, batch: Stuck, *new_by: float, **more: Any) -> None:
    """Write down what is expected of a batch from ten days ago on."""
    values = {"from_on": day(10), "ever": new_by[-1], "finish": 0, "leans_on": 14} | more
    session.add(OutlookRow(batch_id=batch.id, new_by=list(new_by), **values))
    session.flush()


def test_what_was_learned_is_told(session: Session, head: Actor, plant: int) -> None:
    batch = due_in(session, head, 0, plant=plant)
    bare = due_in(session, head, 0, plant=plant)
    expect(session, batch, *[19.0] * 20)
    learned, unlearned = lines(session)
    assert (learned.code, unlearned.code) == (batch.code, bare.code)
    assert "about 2 in 10 rooted by now" in learned.expect
    assert (learned.basis, learned.finish) == ("by 14 finished batches of Hebe", False)
    assert learned.cost == 10 * 19.0 - 40.0
    assert (unlearned.basis, unlearned.cost) == ("", None)
    expect(session, bare, 0.1, finish=1)
    assert lines(session)[1].expect.endswith("few more expected: time to finish?")


def test_a_learned_count_is_late_only_from_its_own_day(
    session: Session, head: Actor, plant: int
) -> None:
    batch = due_in(session, head, 1, plant=plant)
    session.execute(
        update(BatchFacts)
        .where(BatchFacts.batch_id == batch.id)
        .values(next_count_on=day(2), due_on=day(2), late_on=TODAY + timedelta(days=1))
    )
    due = list_due(session, on=TODAY)
    assert (due.late, due.due_today, due.coming) == (0, 1, 0)
    assert lines(session)[0].state is DueState.DUE_TODAY
    late = BatchesWanted(state=BatchesIn.LATE)
    assert list_batches(session, wanted=late, today=TODAY).lines == ()
    tomorrow = TODAY + timedelta(days=1)
    assert (count_late(session, on=tomorrow), lines(session, on=tomorrow)[0].state) == (
        1,
        DueState.LATE,
    )
    assert [line.code for line in list_batches(session, wanted=late, today=tomorrow).lines] == [
        batch.code
    ]


def test_urgent_ones_come_first_on_their_bench(session: Session, head: Actor, plant: int) -> None:
    longer = due_in(session, head, -3, plant=plant)
    rot = stick(session, head, plant=plant)
    check(session, head, rot, said(8, 5, lost=lost(2, "grey mould")))
    assert [line.code for line in lines(session)] == [rot.code, longer.code]


def test_what_costs_most_by_waiting_comes_first_when_asked(
    session: Session, head: Actor, plant: int
) -> None:
    unlearned = due_in(session, head, -5, plant=plant)
    cheap = due_in(session, head, -3, plant=plant)
    dear = due_in(session, head, -1, plant=plant)
    rot = stick(session, head, plant=plant)
    check(session, head, rot, said(8, 5, lost=lost(2, "grey mould")))
    expect(session, cheap, *[2.0] * 20)
    expect(session, dear, *[30.0] * 20)
    due = list_due(session, on=TODAY)
    ordered = [batch.code for batch in due.costs_most_first(DueState.LATE)]
    assert ordered == [rot.code, dear.code, cheap.code, unlearned.code]
    assert due.costs_most_first(DueState.COMING) == ()


def test_a_long_list_is_cut_and_says_so(session: Session, head: Actor, plant: int) -> None:
    for _ in range(4):
        due_in(session, head, -1, plant=plant)
    due = list_due(session, on=TODAY, most=3)
    assert (due.late, due.left_out, sum(len(b.batches) for b in due.benches)) == (4, 1, 3)


def test_what_stands_on_a_bench(session: Session, head: Actor, plant: int) -> None:
    bench = add_bench(session)
    batch = stick(session, head, plant=plant, bench_id=bench)
    cleared = stick(session, head, plant=plant, bench_id=bench)
    check(session, head, cleared, said(7, ending=Ending.DUMPED))
    moved = stick(session, head, plant=plant, bench_id=bench)
    session.query(BenchStay).filter_by(batch_id=moved.id).one().to_on = day(1)
    (stands,) = list_standing_batches(session, bench_id=bench)
    assert (stands.code, stands.unrooted, stands.due_on) == (batch.code, 96, day(35))
    assert get_bench_name(session, bench_id=bench) == "Mist bench 2"
    with pytest.raises(NotFound):
        get_bench_name(session, bench_id=9)


def statements(database: Database, session: Session, ask: Callable[[], object]) -> list[Any]:
    """Return every statement that a question runs, with its values."""
    told: list[Any] = []

    def hear(_c: Any, _cursor: Any, statement: str, values: Any, *_more: Any) -> None:
        told.append((statement, values))

    event.listen(database.engine, "before_cursor_execute", hear)
    try:
        ask()
    finally:
        event.remove(database.engine, "before_cursor_execute", hear)
    return told


def test_every_read_of_the_list_goes_by_an_index(
    database: Database, session: Session, head: Actor, plant: int
) -> None:
    due_in(session, head, -1, plant=plant, bench_id=add_bench(session))
    asked = statements(database, session, lambda: list_due(session, on=TODAY))
    plans = [
        row.detail
        for statement, values in asked
        for row in session.connection().exec_driver_sql(f"EXPLAIN QUERY PLAN {statement}", values)
    ]
    assert sum("ix_batch_facts_due" in detail for detail in plans) == 5
    growing = {
        "batch_facts", "batches", "bench_stays", "check_losses", "check_plans", "check_versions",
        "checks", "outlooks",
    }  # fmt: skip
    scans = [
        detail
        for detail in plans
        if detail.startswith("SCAN")
        and detail.split()[1] in growing
        and "ix_batch_facts_due" not in detail
    ]
    assert scans == []


def test_many_cleared_batches_cost_no_more_steps(
    database: Database, session: Session, head: Actor, plant: int
) -> None:
    due_in(session, head, -1, plant=plant, bench_id=add_bench(session))
    few = _steps(session)
    _add_cleared(session, 5_000)
    many = _steps(session)
    assert list_due(session, on=TODAY).late == 1
    assert few > 100
    assert many <= few * 1.2


def _steps(session: Session) -> int:
    """Return how many steps the database took for the list."""
    driver = session.connection().connection.driver_connection
    assert driver is not None
    taken = [0]

    def step() -> None:
        taken[0] += 1

    driver.set_progress_handler(step, 1)
    try:
        list_due(session, on=TODAY)
    finally:
        driver.set_progress_handler(None, 1)
    return taken[0]


def _add_cleared(session: Session, number: int) -> None:
    batch = session.execute(select(Batch.__table__)).one()._asdict()
    facts = session.execute(select(BatchFacts.__table__)).one()._asdict()
    cleared = {"unrooted": 0, "rooted": 96, "open": 0, "due_on": None, "late_on": None}
    batches = [batch | {"id": n, "number": n, "code": f"26-{n:04d}"} for n in range(2, number + 2)]
    session.execute(insert(Batch.__table__), batches)  # type: ignore[arg-type]
    rows = [facts | cleared | {"batch_id": n} for n in range(2, number + 2)]
    session.execute(insert(BatchFacts.__table__), rows)  # type: ignore[arg-type]
    session.execute(text("ANALYZE"))
