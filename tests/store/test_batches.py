"""Finding batches, listing them page by page, and reading one as its story."""

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from sqlalchemy import event
from sqlalchemy.orm import Session

from app.domain.batches import SourceKind, SourceLine
from app.domain.check_entries import CheckEntry
from app.domain.containers import ContainerKind
from app.domain.cutting_types import CuttingType
from app.domain.hormones import Hormone
from app.domain.people import Actor
from app.domain.problems import NotFound
from app.domain.strike_rates_keys import RateKey
from app.domain.strike_rates_questions import RateFilter, RateQuestion
from app.services.batches import StuckBatch, stick_batch, void_batch
from app.services.checks import record_check
from app.store.queries.batch_kin import get_batch_issue
from app.store.queries.batch_lists import (
    BatchesIn,
    BatchesWanted,
    list_batches,
    list_recent_plants,
)
from app.store.queries.batches import find_batch_id, find_latest_batch, get_batch
from tests.conftest import NOW, TODAY
from tests.services.batch_records import (
    add_bench,
    add_container,
    add_mix,
    add_mix_lot,
    add_plant,
    add_stock_plant,
    days_ago,
    entry,
    from_stock_plant,
)

Stick = Callable[..., StuckBatch]


@pytest.fixture
def stick(session: Session, head: Actor) -> Stick:
    def stuck(plant: int, *, actor: Actor = head, **more: Any) -> StuckBatch:
        said = entry(plant, **more)
        return stick_batch(session, actor=actor, today=TODAY, now=NOW, entry=said)

    return stuck


def codes(session: Session, **more: Any) -> list[str]:
    keys = {key: more.pop(key) for key in ("older_than", "newer_than", "limit") if key in more}
    wanted = BatchesWanted(**more)
    page = list_batches(session, wanted=wanted, today=TODAY, **keys)
    return [line.code for line in page.lines]


def check(session: Session, actor: Actor, stuck: StuckBatch, **more: Any) -> None:
    said = CheckEntry(checked_on=TODAY, **more)
    record_check(session, actor=actor, today=TODAY, now=NOW, batch_id=stuck.id, entry=said)


def test_a_batch_is_found_by_its_code_as_typed(session: Session, stick: Stick) -> None:
    stuck = stick(add_plant(session))
    for typed in ("26-0001", "26-1", "260001", "26/0001"):
        assert find_batch_id(session, code=typed) == stuck.id
    for typed in ("26-0002", "", "Hebe"):
        assert find_batch_id(session, code=typed) is None
    with pytest.raises(NotFound, match="There is no batch 26-0002"):
        get_batch(session, code="26-0002")


def test_a_story_says_every_reference_by_its_name(
    session: Session, stick: Stick, head: Actor
) -> None:
    plant = add_plant(session)
    (mix,) = add_mix(session)
    parent = stick(plant, stuck_on=days_ago(20))
    stuck = stick(
        plant,
        sources=(
            from_stock_plant(add_stock_plant(session, plant), 60),
            SourceLine(kind=SourceKind.COLLECTED, condition="after rain"),
        ),
        mix_lot_id=add_mix_lot(session, mix),
        container_id=add_container(session),
        bench_id=add_bench(session),
        gathered_by_id=head.person_id,
        stuck_by_id=head.person_id,
        restuck_from_id=parent.id,
    )
    story = get_batch(session, code=stuck.code)
    assert (story.id, story.code, story.version) == (stuck.id, "26-0002", 1)
    assert (story.plant, story.genus, story.mix) == (
        "Hebe 'Great Orme'",
        "Hebe",
        "Perlite and bark, version 1",
    )
    container = (story.mix_lot, story.container, story.container_kind)
    assert container == ("M-0001", "84-plug tray", ContainerKind.TRAY)
    assert (story.gathered_by, story.made_by, story.stuck_by) == ("Ines Farrow", "", "Ines Farrow")
    assert (story.restuck_from, story.recorded_by) == ("26-0001", "Ines Farrow")
    assert [(line.kind, line.code, line.number) for line in story.sources] == [
        (SourceKind.STOCK_PLANT, "S-0031", 60),
        (SourceKind.COLLECTED, "", None),
    ]
    assert story.benches == ("Mist bench 2",)
    assert story.standing.unrooted == 96
    assert story.is_open
    assert story.void is None


def test_what_was_re_stuck_is_part_of_what_a_batch_led_to(session: Session, stick: Stick) -> None:
    plant = add_plant(session)
    parent = stick(plant)
    stick(plant, restuck_from_id=parent.id, stuck=12)
    issue = get_batch_issue(session, batch_id=parent.id)
    assert [(child.code, child.stuck) for child in issue.restuck] == [("26-0002", 12)]
    assert issue.stock_plants == ()


def test_a_story_after_checks_and_after_voiding(
    session: Session, stick: Stick, head: Actor
) -> None:
    stuck = stick(add_plant(session), stuck_on=days_ago(40))
    assert get_batch(session, code=stuck.code).is_late(TODAY)
    check(session, head, stuck, rooted=50)
    story = get_batch(session, code=stuck.code)
    assert (story.standing.rooted, story.standing.unrooted) == (50, 46)
    assert story.standing.counted_on == TODAY
    assert not story.is_late(TODAY)
    void_batch(session, actor=head, today=TODAY, now=NOW, batch_id=stuck.id, reason="twice")
    void = get_batch(session, code=stuck.code).void
    assert void is not None
    assert (void.by, void.at, void.reason) == ("Ines Farrow", NOW, "twice")


def test_raised_stock_plants_are_part_of_what_a_batch_led_to(
    session: Session, stick: Stick
) -> None:
    plant = add_plant(session)
    stuck = stick(plant)
    add_stock_plant(session, plant, raised_from_id=stuck.id, plants=6)
    issue = get_batch_issue(session, batch_id=stuck.id)
    assert [(raised.code, raised.plants) for raised in issue.stock_plants] == [("S-0031", 6)]


def test_the_last_batch_of_a_person(
    session: Session, stick: Stick, head: Actor, trainee: Actor
) -> None:
    plant = add_plant(session)
    assert find_latest_batch(session, recorded_by_id=trainee.person_id) is None
    stick(plant, actor=trainee)
    last = stick(plant, actor=trainee)
    stick(plant, actor=head)
    assert find_latest_batch(session, recorded_by_id=trainee.person_id) == last.code
    void_batch(session, actor=head, today=TODAY, now=NOW, batch_id=last.id, reason="twice")
    assert find_latest_batch(session, recorded_by_id=trainee.person_id) == "26-0001"


def test_pages_follow_one_another_without_gap_or_repeat(session: Session, stick: Stick) -> None:
    plant = add_plant(session)
    for place in range(7):
        stick(plant, stuck_on=days_ago(place // 2))
    whole = codes(session)
    assert whole == [f"26-{number:04d}" for number in (2, 1, 4, 3, 6, 5, 7)]
    seen: list[str] = []
    page = list_batches(session, wanted=BatchesWanted(), today=TODAY, limit=3)
    assert (page.newer, page.older) == (False, True)
    while True:
        seen += [line.code for line in page.lines]
        if not page.older:
            break
        key = page.lines[-1].key
        page = list_batches(session, wanted=BatchesWanted(), today=TODAY, limit=3, older_than=key)
        assert page.newer
    assert seen == whole
    back = list_batches(
        session, wanted=BatchesWanted(), today=TODAY, limit=3, newer_than=page.lines[0].key
    )
    assert [line.code for line in back.lines] == whole[3:6]
    assert (back.newer, back.older) == (True, True)


def test_lists_by_where_batches_stand(session: Session, stick: Stick, head: Actor) -> None:
    plant = add_plant(session)
    unrooted = stick(plant)
    late = stick(plant, stuck_on=days_ago(60))
    part = stick(plant, stuck_on=days_ago(30))
    cleared = stick(plant, stuck_on=days_ago(30))
    void = stick(plant)
    check(session, head, part, rooted=10)
    check(session, head, cleared, rooted=96)
    void_batch(session, actor=head, today=TODAY, now=NOW, batch_id=void.id, reason="twice")
    expected = {
        BatchesIn.ALL: [unrooted, cleared, part, late],
        BatchesIn.OPEN: [unrooted, part, late],
        BatchesIn.LATE: [late],
        BatchesIn.UNROOTED: [unrooted, late],
        BatchesIn.PART_ROOTED: [part],
        BatchesIn.CLEARED: [cleared],
        BatchesIn.VOID: [void],
    }
    for state, batches in expected.items():
        assert codes(session, state=state) == [batch.code for batch in batches], state


def test_filters_are_those_of_strike_rates(session: Session, stick: Stick) -> None:
    hebe, cistus = add_plant(session), add_plant(session, "Cistus × purpureus")
    bench = add_bench(session)
    first = stick(
        hebe, cutting_type=CuttingType.SEMI_RIPE, bench_id=bench,
        hormone=Hormone(substance="IBA", form="talc", ppm=1000),
    )  # fmt: skip
    second = stick(cistus, cutting_type=CuttingType.SOFTWOOD, stuck_on=days_ago(90))
    for key, value, batch in (
        (RateKey.GENUS, "Hebe", first),
        (RateKey.GENUS, "cistus", second),
        (RateKey.CUTTING_TYPE, "softwood", second),
        (RateKey.HORMONE, "IBA talc 1000 ppm", first),
        (RateKey.BENCH, "Mist bench 2", first),
        (RateKey.MONTH, "8", second),
    ):
        question = RateQuestion(where=(RateFilter(key=key, value=value),))
        assert codes(session, question=question) == [batch.code], key
    since = RateQuestion(since=TODAY - timedelta(days=1))
    assert codes(session, question=since) == [first.code]


def test_text_is_looked_for_in_names_and_own_references(session: Session, stick: Stick) -> None:
    hebe = stick(add_plant(session), own_reference="book 3, 17")
    stick(add_plant(session, "Hebe 'Amy'"))
    assert codes(session, text="orme hebe") == [hebe.code]
    assert codes(session, text="3, 17") == [hebe.code]
    assert codes(session, text="%") == []
    assert len(codes(session, text="HEBE")) == 2


def test_a_line_says_where_the_batch_stands(session: Session, stick: Stick) -> None:
    stick(add_plant(session), bench_id=add_bench(session), cutting_type=CuttingType.SOFTWOOD)
    (line,) = list_batches(session, wanted=BatchesWanted(), today=TODAY).lines
    assert (line.plant, line.cutting_type, line.hormone) == ("Hebe 'Great Orme'", "softwood", "")
    assert (line.benches, line.standing.stuck, line.void) == (("Mist bench 2",), 96, False)


def test_a_page_of_batches_asks_as_often_whatever_its_length(
    session: Session, stick: Stick
) -> None:
    plant = add_plant(session)
    asked: list[str] = []

    def note(_connection: Any, _cursor: Any, statement: str, *_rest: Any) -> None:
        asked.append(statement)

    stick(plant)
    event.listen(session.get_bind(), "before_cursor_execute", note)
    codes(session)
    few = len(asked)
    for _ in range(20):
        stick(plant)
    asked.clear()
    codes(session)
    assert len(asked) == few


def test_recent_plants_come_once_and_latest_first(session: Session, stick: Stick) -> None:
    hebe, cistus = add_plant(session), add_plant(session, "Cistus × purpureus")
    for plant in (cistus, hebe, hebe):
        stick(plant)
    assert list_recent_plants(session, limit=5) == ("Hebe 'Great Orme'", "Cistus × purpureus")
    assert list_recent_plants(session, limit=1) == ("Hebe 'Great Orme'",)


def test_a_kept_key_is_compared_by_day_then_by_entry(session: Session, stick: Stick) -> None:
    plant = add_plant(session)
    for _ in range(3):
        stick(plant)
    page = list_batches(session, wanted=BatchesWanted(), today=TODAY)
    key = page.lines[1].key
    assert codes(session, older_than=key) == ["26-0001"]
    assert codes(session, older_than=replace(key, stuck_on=days_ago(1))) == []
