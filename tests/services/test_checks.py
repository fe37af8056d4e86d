"""Checks are recorded, and the counts of their batch always add up."""

from datetime import timedelta

import pytest
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.domain.lost_causes import MISSING
from app.domain.outcomes import CheckKind, Ending, Loss
from app.domain.people import Actor
from app.domain.problems import NotAccepted, NotFound
from app.domain.typed_counts import MissingAsked, RootedAs
from app.services.checks import record_check
from app.store.models.batches import Batch
from app.store.models.checks import Check, CheckVersion
from app.store.models.history import HistoryLine
from app.store.models.meta import Meta
from app.store.queries.checks import get_check, list_checks
from tests.conftest import NOW, TODAY
from tests.services.check_records import (
    check,
    correct,
    day,
    facts,
    lost,
    said,
    stick,
    totals,
)


def test_a_check_is_kept_as_typed_and_moves_the_facts(session: Session, trainee: Actor) -> None:
    batch = stick(session, trainee)
    recorded = check(
        session,
        trainee,
        batch,
        said(
            7,
            38,
            lost=(*lost(8), *lost(3, "slugs")),
            callused=20,
            rooted_means="holds to a tug",
            medium_c=21.5,
            humidity_percent=92,
            note=" firm  ",
        ),
    )
    row = facts(session, batch)
    assert totals(session, batch) == (38, 11, 0, 0, 47)
    assert (row.counted_on, row.last_looked_on) == (day(7), day(7))
    assert (row.next_look_on, row.next_count_on) == (TODAY, TODAY + timedelta(days=7))
    assert (row.due_on, row.late_on, row.open) == (TODAY, TODAY + timedelta(days=1), 1)
    stored = get_check(session, check_id=recorded.check_id)
    assert stored.counts.lost == (
        Loss(cause="basal rot", number=8),
        Loss(cause="slugs", number=3),
    )
    assert (stored.counts.callused, stored.medium_c, stored.humidity_percent) == (20, 21.5, 92)
    assert (stored.note, stored.rooted_means) == ("firm", "holds to a tug")
    assert (stored.checked_by, stored.recorded_by) == (trainee.name, trainee.name)


def test_recording_writes_one_history_line_that_copies_nothing(
    session: Session, head: Actor
) -> None:
    batch = stick(session, head)
    before = session.scalar(select(Meta.data_version)) or 0
    check(session, head, batch, said(7, 38))
    line = session.scalars(select(HistoryLine).order_by(HistoryLine.sequence.desc())).first()
    assert line is not None
    subject = f"batch {batch.code}, check of {day(7).isoformat()} no. 1"
    assert (line.what, line.subject, line.change) == ("check recorded", subject, "{}")
    assert session.scalar(select(Meta.data_version)) == before + 1


@pytest.mark.parametrize(
    ("typed", "typed_as", "counted"),
    [(20, RootedAs.NEW, None), (58, RootedAs.SO_FAR, None), (24, RootedAs.LEFT, 24)],
)
def test_rooted_can_be_typed_three_ways(
    session: Session, head: Actor, typed: int, typed_as: RootedAs, counted: int | None
) -> None:
    batch = stick(session, head)
    check(session, head, batch, said(14, 38, lost=lost(11)))
    recorded = check(session, head, batch, said(7, typed, typed_as=typed_as, lost=lost(3)))
    assert totals(session, batch) == (58, 14, 0, 0, 24)
    stored = get_check(session, check_id=recorded.check_id)
    assert (stored.counts.rooted, stored.typed_as) == (20, typed_as)
    assert stored.unrooted_counted == counted


def test_what_was_typed_is_read_from_where_the_batch_stood_that_day(
    session: Session, head: Actor
) -> None:
    batch = stick(session, head)
    check(session, head, batch, said(7, 30))
    check(session, head, batch, said(14, 25, typed_as=RootedAs.SO_FAR))
    assert totals(session, batch)[0] == 55


def test_a_short_count_is_asked_about_and_then_called_missing(
    session: Session, head: Actor
) -> None:
    batch = stick(session, head)
    entry = said(7, 38, unrooted_counted=50)
    with pytest.raises(MissingAsked) as asked:
        check(session, head, batch, entry)
    assert asked.value.missing == 8
    assert totals(session, batch) == (0, 0, 0, 0, 96)
    recorded = check(session, head, batch, said(7, 38, unrooted_counted=50, missing_confirmed=8))
    assert totals(session, batch) == (38, 8, 0, 0, 50)
    stored = get_check(session, check_id=recorded.check_id)
    assert stored.counts.lost == (Loss(cause=MISSING, number=8),)
    assert stored.unrooted_counted == 50


def test_a_sample_feeds_no_total(session: Session, head: Actor) -> None:
    batch = stick(session, head)
    recorded = check(session, head, batch, said(7, 9, kind=CheckKind.SAMPLE, looked=20, callused=4))
    assert totals(session, batch) == (0, 0, 0, 0, 96)
    row = facts(session, batch)
    assert (row.last_looked_on, row.counted_on) == (day(7), None)
    stored = get_check(session, check_id=recorded.check_id)
    assert (stored.counts.looked, stored.counts.rooted) == (20, 9)


def test_a_look_resets_the_look_only(session: Session, head: Actor) -> None:
    batch = stick(session, head)
    check(session, head, batch, said(1, kind=CheckKind.LOOKED_ONLY, rooted_means="roots seen"))
    row = facts(session, batch)
    assert row.next_look_on == TODAY + timedelta(days=6)
    assert row.due_on == row.next_count_on == day(21)


@pytest.mark.parametrize(
    ("ending", "totals_then"),
    [(Ending.DUMPED, (38, 0, 58, 0, 0)), (Ending.CLEARED_UNROOTED, (38, 0, 0, 58, 0))],
)
def test_an_ending_takes_the_rest_and_closes_the_batch(
    session: Session, head: Actor, ending: Ending, totals_then: tuple[int, ...]
) -> None:
    batch = stick(session, head)
    check(session, head, batch, said(7, 38, ending=ending, ending_cause=" bench needed "))
    row = facts(session, batch)
    assert totals(session, batch) == totals_then
    assert (row.open, row.due_on, row.late_on, row.next_look_on) == (0, None, None, None)
    stored = session.execute(select(Batch.__table__).where(Batch.id == batch.id)).one()
    assert (stored.ending_kind, stored.ending_cause) == (ending, "bench needed")
    assert (stored.ended_on, stored.version) == (day(7), 1)


def test_an_earlier_check_still_fits_before_an_ending(session: Session, head: Actor) -> None:
    batch = stick(session, head)
    check(session, head, batch, said(7, 38, ending=Ending.DUMPED))
    earlier = check(session, head, batch, said(14, 10))
    assert totals(session, batch) == (48, 0, 48, 0, 0)
    correct(session, head, earlier, said(14, 50))
    assert totals(session, batch) == (88, 0, 8, 0, 0)
    correct(session, head, earlier, said(14, 2), version=2)
    assert totals(session, batch) == (40, 0, 56, 0, 0)


def test_taking_an_ending_back_opens_the_batch_again(session: Session, head: Actor) -> None:
    batch = stick(session, head)
    ended = check(session, head, batch, said(7, 38, ending=Ending.DUMPED, ending_cause="rot"))
    correct(session, head, ended, said(7, 38))
    assert totals(session, batch) == (38, 0, 0, 0, 58)
    assert facts(session, batch).open == 1
    stored = session.execute(select(Batch.__table__).where(Batch.id == batch.id)).one()
    assert (stored.ending_kind, stored.ending_cause, stored.ended_on) == ("", "", None)


@pytest.mark.parametrize(
    ("days", "more", "field"),
    [
        (7, {"rooted": 59}, "rooted"),
        (7, {"lost": lost(59)}, "lost"),
        (7, {"lost": (Loss(cause="basal rot", number=-2),)}, "lost"),
        (7, {"callused": 59}, "callused"),
        (7, {"kind": CheckKind.SAMPLE, "rooted": 3}, "looked"),
        (7, {"medium_c": 99}, "medium_c"),
        (7, {"humidity_percent": 101}, "humidity_percent"),
        (7, {"note": "x" * 2001}, "note"),
        (7, {"lost": lost(1, "moonlight")}, "lost"),
        (7, {"checked_by_id": 99}, "checked_by"),
        (43, {}, "checked_on"),
        (-1, {}, "checked_on"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field_and_not_stored(
    session: Session, head: Actor, days: int, more: dict[str, object], field: str
) -> None:
    batch = stick(session, head)
    check(session, head, batch, said(14, 38))
    with pytest.raises(NotAccepted) as refused:
        check(session, head, batch, said(days, **more))  # type: ignore[arg-type]
    assert [problem.field for problem in refused.value.problems] == [field]
    assert session.scalar(select(func.count()).select_from(Check)) == 1


def test_nothing_is_checked_after_the_end(session: Session, head: Actor) -> None:
    batch = stick(session, head)
    check(session, head, batch, said(14, 38, ending=Ending.DUMPED))
    with pytest.raises(NotAccepted, match="was dumped on Wed 11 November 2026") as refused:
        check(session, head, batch, said(7, 1))
    assert refused.value.problems[0].field == "checked_on"


def test_nothing_is_left_to_check_once_all_rooted(session: Session, head: Actor) -> None:
    batch = stick(session, head)
    check(session, head, batch, said(14, 96))
    with pytest.raises(NotAccepted, match="nothing is left to check"):
        check(session, head, batch, said(7, kind=CheckKind.LOOKED_ONLY))


def test_a_void_or_unknown_batch_is_not_checked(session: Session, head: Actor) -> None:
    batch = stick(session, head)
    session.get_one(Batch, batch.id).voided_at = NOW
    with pytest.raises(NotAccepted, match="entered by mistake"):
        check(session, head, batch, said(7))
    with pytest.raises(NotFound):
        record_check(session, actor=head, today=TODAY, now=NOW, batch_id=99, entry=said(7))


def test_two_checks_of_one_day_are_numbered(session: Session, head: Actor) -> None:
    batch = stick(session, head)
    check(session, head, batch, said(7, 10))
    check(session, head, batch, said(7, 15, typed_as=RootedAs.SO_FAR))
    assert [
        (c.counts.running, c.counts.rooted) for c in list_checks(session, batch_id=batch.id)
    ] == [
        (1, 10),
        (2, 5),
    ]


def test_re_stuck_cuttings_lead_to_their_batch(session: Session, head: Actor) -> None:
    batch = stick(session, head)
    into = stick(session, head, plant=1, stuck_on=day(3), stuck=40, restuck_from_id=batch.id)
    recorded = check(
        session,
        head,
        batch,
        said(3, 10, ending=Ending.CLEARED_UNROOTED, restuck_into_id=into.id),
    )
    assert get_check(session, check_id=recorded.check_id).restuck_into == into.code
    with pytest.raises(NotAccepted) as refused:
        correct(session, head, recorded, said(3, 10, restuck_into_id=batch.id))
    assert refused.value.problems[0].field == "restuck_into"


def test_every_version_is_complete(session: Session, head: Actor) -> None:
    batch = stick(session, head)
    recorded = check(session, head, batch, said(7, 38, ending=Ending.DUMPED))
    correct(session, head, recorded, said(7, 30, ending=Ending.CLEARED_UNROOTED))
    rows = session.execute(
        select(CheckVersion.rooted, CheckVersion.ending, CheckVersion.ended).order_by(
            CheckVersion.number
        )
    ).all()
    assert [tuple(row) for row in rows] == [(38, "dumped", 58), (30, "cleared unrooted", 66)]
