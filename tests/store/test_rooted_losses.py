"""What is read of losses after rooting: for plans, and as the second rate."""

from datetime import timedelta
from typing import Any

import pytest
from sqlalchemy.orm import Session

from app.domain.order_plans import PlanAsked, PlanSubject
from app.domain.strike_rates import Basis, RateOf, rate_of
from app.domain.strike_rates_keys import RateKey
from app.domain.strike_rates_questions import RateFilter, RateQuestion
from app.store.models.liner_lots import LinerFacts
from app.store.queries.order_plans import find_basis, read_plan_books
from app.store.queries.rooted_losses import find_own_ready
from app.store.queries.strike_rates import get_rate_answer, list_batches_behind
from tests.conftest import TODAY
from tests.domain.rate_batches import Counts
from tests.store.rate_records import RateRecords

READY = RateQuestion(by=(RateKey.GENUS,), of=RateOf.READY)


@pytest.fixture
def records(session: Session) -> RateRecords:
    return RateRecords(session=session)


def add(
    records: RateRecords,
    session: Session,
    counts: Counts,
    *,
    after: tuple[int, int, int],
    **more: Any,
) -> int:
    """Write a batch of which (ready, lost, growing) became after rooting."""
    batch = records.add_batch(counts, **more)
    ready, lost, growing = after
    taken = ready + lost + growing
    session.add(LinerFacts(batch_id=batch.id, taken=taken, ready=ready, lost=lost, growing=growing))
    session.flush()
    return batch.id


def test_plants_ready_per_cutting_stuck(session: Session, records: RateRecords) -> None:
    # 100 stuck: 80 rooted of which 70 became ready and 10 were lost; 20 lost before rooting.
    add(records, session, Counts(rooted=80, lost=20), after=(70, 10, 0))
    # 50 stuck: 30 rooted of which 20 ready, 4 growing on, 6 not potted up; 20 dumped.
    add(records, session, Counts(rooted=30, dumped=20), after=(20, 0, 4), plant="Cistus albidus")
    # 40 stuck, all rooted, none potted up.
    records.add_batch(Counts(rooted=40), plant="Salvia officinalis")
    answer = get_rate_answer(session, question=READY)
    found = {group.values[0]: group for group in answer.groups}
    every = found["Hebe"].facts.every
    assert (every.rooted, every.lost, every.unrooted) == (70, 30, 0)
    square = found["Hebe"].square
    assert (square.basis, square.strike_share) == (Basis.FINISHED, 0.7)
    cistus = found["Cistus"].square
    assert (cistus.basis, cistus.facts.every.unrooted) == (Basis.BOUNDS, 10)
    assert (cistus.estimate_low_share, cistus.estimate_high_share) == (0.4, 0.6)
    salvia = found["Salvia"].square
    assert (salvia.estimate_low_share, salvia.estimate_high_share) == (0.0, 1.0)
    assert answer.total.every.of is RateOf.READY


def test_its_interval_is_that_of_a_strike_rate_of_the_same_counts(
    session: Session, records: RateRecords
) -> None:
    add(records, session, Counts(rooted=80, lost=20), after=(70, 10, 0))
    records.add_batch(Counts(rooted=70, lost=30), plant="Cistus albidus")
    strike = get_rate_answer(session, question=RateQuestion(by=(RateKey.GENUS,)))
    ready = get_rate_answer(session, question=READY)
    plain = {group.values[0]: group.square for group in strike.groups}["Cistus"]
    square = {group.values[0]: group.square for group in ready.groups}["Hebe"]
    assert (square.low_share, square.high_share) == (plain.low_share, plain.high_share)


def test_no_batch_is_merely_old_enough(session: Session, records: RateRecords) -> None:
    old = Counts(rooted=60, unrooted=40, counted_at=100)
    add(records, session, old, after=(60, 0, 0))
    assert get_rate_answer(session, question=READY).groups[0].square.basis is Basis.BOUNDS


def test_the_same_filters_and_the_batches_behind(session: Session, records: RateRecords) -> None:
    add(records, session, Counts(rooted=80, lost=20), after=(70, 6, 4), sources=("S-0031",))
    add(records, session, Counts(rooted=8, lost=2), after=(8, 0, 0), plant="Cistus albidus")
    only = RateFilter(key=RateKey.STOCK_PLANT, value="S-0031")
    question = RateQuestion(by=(RateKey.STOCK_PLANT,), where=(only,), of=RateOf.READY)
    answer = get_rate_answer(session, question=question)
    assert [group.facts.every.rooted for group in answer.groups] == [70]
    (behind,) = list_batches_behind(session, question=question, limit=9)
    assert (behind.ready, behind.lost_later, behind.growing) == (70, 6, 4)


def test_a_re_asked_total_keeps_what_it_is_of(session: Session, records: RateRecords) -> None:
    add(records, session, Counts(rooted=80, lost=20), after=(70, 10, 0))
    total = get_rate_answer(session, question=READY).total
    assert rate_of(total).facts.every.of is RateOf.READY


def test_own_losses_count_once_enough_batches_are_through(
    session: Session, records: RateRecords
) -> None:
    for number in range(6):
        assert find_own_ready(session, genus_id=1, genus="Hebe") is None
        add(records, session, Counts(rooted=50, lost=10), after=(40, 10, 0))
        # Still growing on: what it loses is not all known yet.
        add(records, session, Counts(rooted=50, lost=10), after=(0, 10 + number, 30 - number))
    own = find_own_ready(session, genus_id=1, genus="Hebe")
    assert own is not None
    assert (own.share, own.standing) == (0.8, "from 6 batches of Hebe here")


def test_a_plan_says_what_its_losses_rest_on(session: Session, records: RateRecords) -> None:
    for _ in range(6):
        add(records, session, Counts(rooted=50, lost=10), after=(40, 10, 0))
    books = read_plan_books(session, fit=None)
    asked = PlanAsked(plants=100, due_on=TODAY + timedelta(days=200), sure_share=0.9, batches=2)
    for subject, expected in (
        (PlanSubject(genus_id=1, genus="Hebe"), (0.8, "from 6 batches of Hebe here")),
        (PlanSubject(genus_id=1, genus="Hebe", ready_share=0.9), (0.9, "as set here")),
        (PlanSubject(genus_id=99, genus="Cistus"), (0.95, "common practice, no source")),
    ):
        basis = find_basis(session, books=books, subject=subject, asked=asked, today=TODAY)
        assert (basis.after.ready_share, basis.after.ready_standing) == expected
