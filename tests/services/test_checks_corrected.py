"""Checks are corrected with a reason, withdrawn and undone, and the counts still add up."""

import json

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.outcomes import Ending
from app.domain.people import Actor
from app.domain.problems import ChangedMeanwhile, NotAccepted, NotAllowed, NotFound
from app.domain.typed_counts import RootedAs
from app.services.checks import undo_check, withdraw_check
from app.store.models.history import HistoryLine
from app.store.queries.checks import get_check, list_check_versions, list_checks
from tests.conftest import NOW
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


def test_a_correction_is_a_new_version_and_the_old_one_stays_readable(
    session: Session, head: Actor
) -> None:
    batch = stick(session, head)
    recorded = check(session, head, batch, said(7, 38, lost=lost(4), note="first"))
    corrected = correct(
        session, head, recorded, said(8, 35, lost=lost(4, "slugs")), reason=" one tray  twice "
    )
    assert corrected.version == 2
    assert totals(session, batch) == (35, 4, 0, 0, 57)
    newest, first = list_check_versions(session, check_id=recorded.check_id)
    assert (first.counts.checked_on, first.counts.rooted, first.note) == (day(7), 38, "first")
    assert (first.number, first.is_current, first.reason) == (1, False, "")
    assert (newest.counts.checked_on, newest.reason, newest.is_current) == (
        day(8),
        "one tray twice",
        True,
    )
    line = session.scalars(select(HistoryLine).order_by(HistoryLine.sequence.desc())).first()
    assert line is not None
    change = json.loads(line.change)
    assert line.what == "check corrected"
    assert change["rooted"] == [38, 35]
    assert change["lost"] == [["basal rot: 4"], ["slugs: 4"]]
    assert change["checked_on"] == [day(7).isoformat(), day(8).isoformat()]
    assert change["reason"] == ["", "one tray twice"]


def test_a_correction_needs_a_reason(session: Session, head: Actor) -> None:
    batch = stick(session, head)
    recorded = check(session, head, batch, said(7, 38))
    for reason in (" ", "x" * 501):
        with pytest.raises(NotAccepted) as refused:
            correct(session, head, recorded, said(7, 35), reason=reason)
        assert refused.value.problems[0].field == "reason"


def test_a_correction_is_refused_where_a_later_check_would_not_add_up(
    session: Session, head: Actor
) -> None:
    batch = stick(session, head)
    first = check(session, head, batch, said(14, 10))
    check(session, head, batch, said(7, 80))
    with pytest.raises(NotAccepted) as refused:
        correct(session, head, first, said(14, 20))
    sentence = refused.value.problems[0].sentence
    assert "check of Wed 18 November 2026 would no longer add up" in sentence
    assert "Rooted 20 and lost 0 leave 76 of 96" in sentence
    assert totals(session, batch) == (90, 0, 0, 0, 6)
    assert len(list_check_versions(session, check_id=first.check_id)) == 1


def test_a_check_can_be_moved_past_another(session: Session, head: Actor) -> None:
    batch = stick(session, head)
    first = check(session, head, batch, said(14, 10))
    check(session, head, batch, said(7, 30, typed_as=RootedAs.SO_FAR))
    correct(session, head, first, said(7, 10))
    assert [
        (c.counts.checked_on, c.counts.running) for c in list_checks(session, batch_id=batch.id)
    ] == [(day(7), 1), (day(7), 2)]
    assert totals(session, batch)[0] == 30


def test_the_second_editor_is_shown_both_versions(session: Session, head: Actor) -> None:
    batch = stick(session, head)
    recorded = check(session, head, batch, said(7, 38))
    correct(session, head, recorded, said(7, 35))
    with pytest.raises(ChangedMeanwhile) as changed:
        correct(session, head, recorded, said(7, 40, note="sure"), version=1)
    assert changed.value.version == 2
    shown = {change.field: (change.now, change.wanted) for change in changed.value.changes}
    assert shown == {"rooted": ("35", "40"), "note": ("nothing", "sure")}


def test_a_trainee_corrects_own_checks_only(
    session: Session, trainee: Actor, head: Actor, manager: Actor
) -> None:
    batch = stick(session, trainee)
    own = check(session, trainee, batch, said(14, 10))
    correct(session, trainee, own, said(14, 11))
    other = check(session, head, batch, said(7, 10))
    with pytest.raises(NotAllowed, match="Ask the head propagator"):
        correct(session, trainee, other, said(7, 11))
    with pytest.raises(NotAllowed):
        withdraw_check(
            session,
            actor=trainee,
            now=NOW,
            check_id=other.check_id,
            version=1,
            reason="no",
        )
    with pytest.raises(NotAllowed):
        correct(session, manager, own, said(14, 12), version=2)
    correct(session, head, own, said(14, 12), version=2)
    assert totals(session, batch)[0] == 22


def test_a_check_withdrawn_counts_nowhere_and_stays_readable(session: Session, head: Actor) -> None:
    batch = stick(session, head)
    recorded = check(session, head, batch, said(7, 38, ending=Ending.DUMPED))
    withdraw_check(
        session,
        actor=head,
        now=NOW,
        check_id=recorded.check_id,
        version=1,
        reason="other batch",
    )
    assert totals(session, batch) == (0, 0, 0, 0, 96)
    row = facts(session, batch)
    assert (row.last_looked_on, row.counted_on, row.open) == (None, None, 1)
    (stored,) = list_checks(session, batch_id=batch.id)
    assert stored.counts.withdrawn
    assert stored.reason == "other batch"
    with pytest.raises(NotAccepted, match="already"):
        withdraw_check(
            session, actor=head, now=NOW, check_id=recorded.check_id, version=2, reason="x"
        )
    with pytest.raises(ChangedMeanwhile):
        withdraw_check(
            session, actor=head, now=NOW, check_id=recorded.check_id, version=1, reason="x"
        )


def test_undo_takes_back_a_recording_a_correction_and_a_withdrawal(
    session: Session, trainee: Actor
) -> None:
    batch = stick(session, trainee)
    recorded = check(session, trainee, batch, said(7, 38, note="kept"))
    correct(session, trainee, recorded, said(6, 30))
    undone = undo_check(session, actor=trainee, now=NOW, check_id=recorded.check_id, version=2)
    assert totals(session, batch)[0] == 38
    stored = get_check(session, check_id=recorded.check_id)
    assert (stored.counts.checked_on, stored.note, stored.reason) == (day(7), "kept", "undone")
    withdraw_check(
        session,
        actor=trainee,
        now=NOW,
        check_id=recorded.check_id,
        version=undone.version,
        reason="x",
    )
    undo_check(session, actor=trainee, now=NOW, check_id=recorded.check_id, version=4)
    assert totals(session, batch)[0] == 38
    again = check(session, trainee, batch, said(3, 5))
    undo_check(session, actor=trainee, now=NOW, check_id=again.check_id, version=1)
    assert totals(session, batch)[0] == 38


def test_undo_is_for_who_saved_it_and_for_the_newest_version(
    session: Session, trainee: Actor, head: Actor
) -> None:
    batch = stick(session, trainee)
    recorded = check(session, trainee, batch, said(7, 38))
    with pytest.raises(NotAllowed):
        undo_check(session, actor=head, now=NOW, check_id=recorded.check_id, version=1)
    correct(session, trainee, recorded, said(7, 30))
    with pytest.raises(NotAccepted, match="changed since"):
        undo_check(session, actor=trainee, now=NOW, check_id=recorded.check_id, version=1)
    with pytest.raises(NotFound):
        undo_check(session, actor=trainee, now=NOW, check_id=77, version=1)


def test_undo_is_refused_where_it_would_not_add_up(session: Session, head: Actor) -> None:
    batch = stick(session, head)
    recorded = check(session, head, batch, said(14, 50))
    correct(session, head, recorded, said(14, 5))
    check(session, head, batch, said(7, 90))
    with pytest.raises(NotAccepted):
        undo_check(session, actor=head, now=NOW, check_id=recorded.check_id, version=2)
