"""The facts of a batch are what its checks say, whatever was done to them in which order."""

from dataclasses import asdict

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.domain.outcomes import Ending, tally
from app.domain.people import Actor
from app.domain.problems import NotAccepted, NotFound
from app.services.batch_facts import (
    facts_of,
    plans_of,
    read_basics,
    refresh_facts,
    refresh_many,
)
from app.services.checks import correct_check, record_check, withdraw_check
from app.store.models.batches import Batch
from app.store.models.checks import Check
from app.store.models.meta import Meta
from app.store.queries.check_plans import read_plan_book
from app.store.queries.checks import counts_by_batch, get_check
from app.store.session import Database
from tests.conftest import NOW, TODAY
from tests.services.check_records import check, facts, lost, said, stick, totals

KINDS = (Ending.NONE, Ending.NONE, Ending.NONE, Ending.DUMPED, Ending.CLEARED_UNROOTED)
STEPS = st.lists(
    st.tuples(
        st.sampled_from(("record", "record", "correct", "withdraw")),
        st.integers(0, 40),
        st.integers(0, 30),
        st.integers(0, 20),
        st.sampled_from(KINDS),
        st.integers(0, 9),
    ),
    max_size=9,
)


def test_facts_are_worked_out_by_one_pure_function(session: Session, head: Actor) -> None:
    batch = stick(session, head)
    check(session, head, batch, said(7, 38, lost=lost(11)))
    (basics,) = read_basics(session, batch_ids=[batch.id])
    counts = counts_by_batch(session, batch_ids=[batch.id])[batch.id]
    plans = plans_of(read_plan_book(session), basics=basics)
    pure = facts_of(basics, checks=counts, plans=plans)
    assert asdict(pure) == facts(session, batch)._asdict()
    assert (pure.year_stuck, pure.month_stuck, pure.genus_id) == (2026, 10, 1)


def test_refreshing_twice_changes_no_fact(session: Session, head: Actor) -> None:
    batches = [stick(session, head, plant=None if not n else 1) for n in range(3)]
    check(session, head, batches[0], said(7, 38, ending=Ending.DUMPED))
    before = [facts(session, batch) for batch in batches]
    assert refresh_many(session, batch_ids=[batch.id for batch in batches]) == 3
    assert [facts(session, batch) for batch in batches] == before


def test_refreshing_counts_up_the_data_but_no_record(session: Session, head: Actor) -> None:
    batch = stick(session, head)
    meta = session.execute(select(Meta.version, Meta.data_version)).one()
    refresh_facts(session, batch_id=batch.id)
    after = session.execute(select(Meta.version, Meta.data_version)).one()
    assert after == (meta.version, meta.data_version + 1)
    assert session.scalar(select(Batch.version)) == 1


def test_a_voided_batch_is_never_due(session: Session, head: Actor) -> None:
    batch = stick(session, head)
    session.get_one(Batch, batch.id).voided_at = NOW
    refreshed = refresh_facts(session, batch_id=batch.id)
    assert (refreshed.voided, refreshed.open, refreshed.due_on) == (1, 0, None)
    assert refreshed.unrooted == 96


def test_an_unknown_batch_has_no_facts(session: Session) -> None:
    with pytest.raises(NotFound):
        refresh_facts(session, batch_id=7)
    assert refresh_many(session, batch_ids=[7]) == 0


@settings(
    max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(steps=STEPS)
def test_whatever_is_done_the_sums_hold(
    database: Database, head: Actor, steps: list[tuple[str, int, int, int, Ending, int]]
) -> None:
    session = database.open_session(write=True)
    try:
        _do(session, head, steps)
    finally:
        session.close()


def _do(session: Session, head: Actor, steps: list[tuple[str, int, int, int, Ending, int]]) -> None:
    batch = stick(session, head)
    ids: list[int] = []
    for what, days, rooted, lost_now, ending, place in steps:
        entry = said(days, rooted, lost=lost(lost_now), ending=ending)
        before = totals(session, batch)
        chosen = ids[place % len(ids)] if ids else 0
        version = get_check(session, check_id=chosen).version if chosen else 0
        who = {"actor": head, "now": NOW}
        try:
            if what == "record":
                recorded = record_check(session, **who, today=TODAY, batch_id=batch.id, entry=entry)
                ids.append(recorded.check_id)
            elif what == "correct" and chosen:
                correct_check(
                    session,
                    **who,
                    today=TODAY,
                    check_id=chosen,
                    version=version,
                    entry=entry,
                    reason="again",
                )
            elif chosen:
                withdraw_check(session, **who, check_id=chosen, version=version, reason="no")
        except NotAccepted:
            assert totals(session, batch) == before
        counts = counts_by_batch(session, batch_ids=[batch.id]).get(batch.id, ())
        standing = tally(counts, stuck=96, stuck_on=facts(session, batch).stuck_on)
        assert totals(session, batch) == (
            standing.rooted,
            standing.lost,
            standing.dumped,
            standing.cleared_unrooted,
            standing.unrooted,
        )
        live = select(func.coalesce(func.sum(Check.ended), 0)).where(Check.withdrawn == 0)
        assert session.scalar(live) == standing.dumped + standing.cleared_unrooted
