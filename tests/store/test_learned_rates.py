"""Estimates of groups: what leans, what is forecast, what stays plain, and what is left open."""

from datetime import date, timedelta

import numpy as np
import pytest
from sqlalchemy.orm import Session

from app.domain.nursery_fits import NurseryFit, fit_nursery
from app.domain.rate_members import leaning_order
from app.domain.strike_rates import Basis
from app.domain.strike_rates_keys import RateKey
from app.domain.strike_rates_questions import RateQuestion
from app.store.models.checks import Check
from app.store.queries.fit_records import read_fit_records
from app.store.queries.learned_rates import get_learned_answer, get_learned_square
from tests.domain.rate_batches import Counts
from tests.store.rate_records import RateRecords

FIRST = date(2025, 3, 3)


def _checked(records: RateRecords, counts: Counts, *, rooted_on: int = 28, **more: object) -> None:
    """A batch with one count that found everything there was to find."""
    batch = records.add_batch(counts, **more)  # type: ignore[arg-type]
    if counts.rooted + counts.lost:
        records.session.add(
            Check(
                batch_id=batch.id,
                checked_on=batch.stuck_on + timedelta(days=rooted_on),
                kind="counted",
                rooted=counts.rooted,
                lost=counts.lost,
            )
        )
    records.session.flush()


@pytest.fixture
def records(session: Session) -> RateRecords:
    """Twenty finished batches: Hebe strikes at about 80 %, Ilex at about 30 %."""
    records = RateRecords(session)
    for number in range(10):
        stuck_on = FIRST + timedelta(days=14 * number)
        _checked(
            records,
            Counts(rooted=23 + number % 3, lost=7 - number % 3),
            plant="Hebe 'Invented'",
            stuck_on=stuck_on,
            person="Ann Bell" if number % 2 else "Bo Carr",
        )
        _checked(
            records,
            Counts(rooted=8 + number % 3, lost=22 - number % 3),
            plant="Ilex crenata",
            stuck_on=stuck_on,
            person="Ann Bell" if number % 2 else "Bo Carr",
        )
    return records


def _fit(records: RateRecords) -> NurseryFit:
    return fit_nursery(read_fit_records(records.session))


def test_finished_groups_are_estimated_and_keep_their_plain_share(records: RateRecords) -> None:
    fit = _fit(records)
    question = RateQuestion(by=(RateKey.GENUS,))
    answer = get_learned_answer(records.session, question=question, fit=fit)
    hebe, ilex = (group.square for group in answer.groups)
    assert (hebe.basis, hebe.strike_share) == (Basis.FINISHED, pytest.approx(239 / 300))
    assert hebe.estimate_share == pytest.approx(0.79, abs=0.04)
    assert ilex.estimate_share == pytest.approx(0.30, abs=0.04)
    assert hebe.learned is not None
    assert hebe.learned.leans
    assert (answer.correlation, answer.finished) == (fit.correlation, 20)


def test_one_poor_batch_leans_on_its_genus(records: RateRecords) -> None:
    _checked(records, Counts(rooted=0, lost=6), stuck_on=date(2026, 1, 7))
    question = RateQuestion(by=(RateKey.GENUS, RateKey.YEAR))
    answer = get_learned_answer(records.session, question=question, fit=_fit(records))
    found = {group.values: group.square for group in answer.groups}
    poor = found["Hebe", "2026"]
    assert poor.strike_share == 0.0
    assert poor.estimate_share is not None
    assert 0.15 < poor.estimate_share < 0.6  # drawn towards the other Hebe, not all the way
    assert poor.estimate_high_share is not None
    assert poor.estimate_high_share > 0.5


def test_the_order_in_which_names_are_asked_does_not_matter(records: RateRecords) -> None:
    fit = _fit(records)
    one, other = (
        get_learned_answer(records.session, question=RateQuestion(by=by), fit=fit)
        for by in ((RateKey.GENUS, RateKey.MONTH), (RateKey.MONTH, RateKey.GENUS))
    )
    shares = {group.values: group.square.estimate_share for group in one.groups}
    for group in other.groups:
        month, genus = group.values
        assert group.square.estimate_share == pytest.approx(shares[genus, month], abs=1e-9)


def test_people_stand_by_themselves(records: RateRecords) -> None:
    question = RateQuestion(by=(RateKey.PERSON,))
    answer = get_learned_answer(records.session, question=question, fit=_fit(records))
    assert [group.values for group in answer.groups] == [("Ann Bell",), ("Bo Carr",)]
    assert all(group.learned and not group.learned.leans for group in answer.groups)


def test_open_batches_are_forecast_at_their_usual_odds(records: RateRecords) -> None:
    _checked(
        records,
        Counts(rooted=4, lost=2, unrooted=54, counted_at=24),
        rooted_on=24,
        stuck_on=date(2026, 2, 2),
    )
    question = RateQuestion(by=(RateKey.GENUS, RateKey.YEAR))
    answer = get_learned_answer(records.session, question=question, fit=_fit(records))
    square = {group.values: group.square for group in answer.groups}["Hebe", "2026"]
    assert square.basis is Basis.FORECAST
    assert square.strike_share is None
    assert square.estimate_share is not None
    assert square.estimate_share > 0.6  # not 4 of 60, nor 4 of 6 exactly
    assert square.learned is not None
    assert square.learned.forecast_share == pytest.approx(54 / 60)


def test_an_open_batch_nothing_was_learned_from_leaves_bounds(records: RateRecords) -> None:
    fit = _fit(records)  # before the open one was stuck
    _checked(records, Counts(unrooted=30, counted_at=None), stuck_on=date(2026, 2, 2))
    question = RateQuestion(by=(RateKey.GENUS, RateKey.YEAR))
    answer = get_learned_answer(records.session, question=question, fit=fit)
    square = {group.values: group.square for group in answer.groups}["Hebe", "2026"]
    assert square.basis is Basis.BOUNDS


def test_nothing_is_learned_from_fewer_than_twelve_finished(session: Session) -> None:
    records = RateRecords(session)
    for _ in range(11):
        _checked(records, Counts(rooted=20, lost=10))
    fit = _fit(records)
    answer = get_learned_answer(session, question=RateQuestion(by=(RateKey.GENUS,)), fit=fit)
    assert [group.learned for group in answer.groups] == [None]
    assert (answer.correlation, answer.finished) == (0.12, 0)


def test_rows_and_total_are_questions_of_their_own(records: RateRecords) -> None:
    fit = _fit(records)
    both = RateQuestion(by=(RateKey.GENUS, RateKey.MONTH))
    one = RateQuestion(by=(RateKey.GENUS,))
    answer = get_learned_answer(records.session, question=both, fit=fit)
    alone = get_learned_answer(records.session, question=one, fit=fit)
    assert [row.learned for row in answer.rows] == [group.learned for group in alone.groups]
    whole = get_learned_square(records.session, question=RateQuestion(), fit=fit)
    assert answer.total_learned == whole.learned


def test_no_batch_no_estimate(records: RateRecords) -> None:
    question = RateQuestion(by=(RateKey.GENUS,), since=date(2030, 1, 1))
    answer = get_learned_answer(records.session, question=question, fit=_fit(records))
    assert (answer.groups, answer.total_learned) == ((), None)


@pytest.mark.parametrize(
    ("by", "order"),
    [
        ((RateKey.MONTH, RateKey.GENUS), (RateKey.GENUS, RateKey.MONTH)),
        ((RateKey.PLANT,), (RateKey.GENUS, RateKey.PLANT)),
        ((RateKey.GENUS, RateKey.PERSON), ()),
        ((RateKey.BENCH,), ()),
        ((), ()),
    ],
)
def test_what_leans_on_what(by: tuple[RateKey, ...], order: tuple[RateKey, ...]) -> None:
    assert leaning_order(by) == order


def test_plants_lean_on_their_genus(records: RateRecords) -> None:
    _checked(records, Counts(rooted=1, lost=3), plant="Hebe 'Fresh'", stuck_on=date(2026, 1, 5))
    question = RateQuestion(by=(RateKey.PLANT,))
    answer = get_learned_answer(records.session, question=question, fit=_fit(records))
    shares = {group.values[0]: group.square.estimate_share for group in answer.groups}
    fresh = shares["Hebe 'Fresh'"]
    assert fresh is not None
    assert fresh > 0.45  # one of four by itself would be 0.25; its genus strikes at 0.8
    assert np.isfinite(fresh)
