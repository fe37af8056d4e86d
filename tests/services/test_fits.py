"""Learning from the batches: once after a change, kept, and felt by what is due."""

import numpy as np
import pytest
from sqlalchemy import select, text

from app.domain.check_plans import CheckPlan, PlanLevel
from app.domain.cutting_types import CuttingType
from app.domain.outcomes import CheckKind, Ending
from app.domain.people import Actor
from app.services.check_plans import PlanPlace, set_plan
from app.services.fits import learn
from app.services.verifying import verify_log
from app.store.fit_blobs import pack_fit, unpack_fit
from app.store.models.batches import BatchFacts
from app.store.models.fits import OutlookRow
from app.store.models.plant_names import PlantNameRow
from app.store.queries.fit_records import read_fit_records
from app.store.queries.fits import find_fit
from app.store.session import Database
from tests.conftest import NOW
from tests.services.batch_records import add_plant, days_ago
from tests.services.check_records import Stuck, check, facts, lost, said, stick

OPEN_DAYS = 20


def _finish(session, head: Actor, plant: int, number: int, *, median: int) -> None:
    """One batch of 60 that was counted five times and finished: 40 rooted, 20 lost or dumped."""
    age = 90 + 3 * number
    batch = stick(
        session,
        head,
        plant=plant,
        stuck_on=days_ago(age),
        stuck=60,
        cutting_type=CuttingType.SEMI_RIPE,
    )
    for day, rooted, gone in ((median - 8, 6, 4), (median, 14, 4), (median + 8, 14, 3)):
        check(session, head, batch, said(age - day, rooted, lost=lost(gone)))
    check(session, head, batch, said(age - 80, 6, ending=Ending.DUMPED))


@pytest.fixture
def log(database: Database, head: Actor) -> Database:
    """Fourteen finished batches of Hebe, an open one, and an open one of a genus never finished."""
    with database.writing() as session:
        plant = add_plant(session)
        for number in range(14):
            _finish(session, head, plant, number, median=26 + number % 5)
        stick(
            session,
            head,
            plant=plant,
            stuck_on=days_ago(OPEN_DAYS),
            stuck=200,
            cutting_type=CuttingType.SEMI_RIPE,
        )
        stick(session, head, plant=add_plant(session, "Cistus x"), stuck_on=days_ago(OPEN_DAYS))
    return database


def _open(session, genus: str) -> Stuck:
    row = session.execute(
        select(BatchFacts.batch_id)
        .join(PlantNameRow, PlantNameRow.id == BatchFacts.plant_name_id)
        .where(BatchFacts.open == 1, PlantNameRow.plain.startswith(genus))
    ).one()
    return Stuck(id=row.batch_id, code="")


def test_without_a_fit_the_fixed_plan_holds(log: Database) -> None:
    with log.reading() as session:
        found = facts(session, _open(session, "Hebe"))
        assert (found.next_count_on - found.stuck_on).days == 21
        assert find_fit(session) is None


def test_what_was_learned_times_the_next_count(log: Database) -> None:
    learn(log, now=NOW)
    with log.reading() as session:
        found = facts(session, _open(session, "Hebe"))
        outlook = session.scalars(
            select(OutlookRow).where(OutlookRow.batch_id == found.batch_id)
        ).one()
        # 200 cuttings of a kind that roots at four weeks: forty cutting-days are soon stood
        waited = np.cumsum(outlook.new_by) - np.array(outlook.new_by) / 2.0
        days = (found.next_count_on - found.stuck_on).days
        assert waited[days] >= 40.0 > waited[days - 1]
        assert found.due_on == min(found.next_look_on, found.next_count_on)
        assert 100 < outlook.ever < 170


def test_a_genus_nobody_finished_keeps_the_fixed_plan(log: Database) -> None:
    learn(log, now=NOW)
    with log.reading() as session:
        found = facts(session, _open(session, "Cistus"))
        assert (found.next_count_on - found.stuck_on).days == 21


def test_the_head_can_choose_the_fixed_plan(log: Database, head: Actor) -> None:
    learn(log, now=NOW)
    with log.writing() as session:
        place = PlanPlace(level=PlanLevel.NURSERY)
        plan = CheckPlan(learned=False, first_count_day=30)
        set_plan(session, actor=head, now=NOW, place=place, version=0, plan=plan)
    with log.reading() as session:
        found = facts(session, _open(session, "Hebe"))
        assert (found.next_count_on - found.stuck_on).days == 30
        assert session.scalars(select(OutlookRow.batch_id)).all() == []
        # a plan changes no count: what was learned is as good as it was
        assert not find_fit(session).stale


def test_a_check_makes_the_fit_stale_and_the_next_fit_takes_it_in(
    log: Database, head: Actor
) -> None:
    learn(log, now=NOW)
    with log.writing() as session:
        check(session, head, _open(session, "Hebe"), said(0, 30, lost=lost(5)))
    with log.reading() as session:
        assert find_fit(session).stale
        outlook = session.scalars(select(OutlookRow)).one()
        assert outlook.from_on == days_ago(0)  # the check itself renewed what is expected
    learn(log, now=NOW)
    with log.reading() as session:
        assert not find_fit(session).stale


def test_nothing_is_fitted_twice(log: Database) -> None:
    learn(log, now=NOW)
    with log.reading() as session:
        first = session.scalar(text("SELECT rowid || fitted_at FROM fits"))
    learn(log, now=NOW.replace(hour=10))
    with log.reading() as session:
        assert session.scalar(text("SELECT rowid || fitted_at FROM fits")) == first


def test_verify_agrees_with_learned_dates(log: Database) -> None:
    learn(log, now=NOW)
    with log.reading() as session:
        assert list(verify_log(session)) == []


def test_a_fit_comes_back_as_it_was(log: Database) -> None:
    learn(log, now=NOW)
    with log.reading() as session:
        fit = find_fit(session).fit
    again = unpack_fit(pack_fit(fit))
    assert again.cluster_nodes == fit.cluster_nodes
    assert again.failures == fit.failures
    assert np.array_equal(again.open_batches.share_logs, fit.open_batches.share_logs)
    assert unpack_fit(b"something else") is None


def test_records_leave_out_void_and_restuck_batches(log: Database, head: Actor) -> None:
    with log.writing() as session:
        first = _open(session, "Hebe")
        plant = session.scalar(select(PlantNameRow.id).limit(1))
        stick(session, head, plant=plant, stuck_on=days_ago(0), restuck_from_id=first.id)
        session.execute(
            text("UPDATE batch_facts SET voided = 1, open = 0 WHERE batch_id = :id"),
            {"id": first.id},
        )
    with log.reading() as session:
        records = read_fit_records(session)
    assert len(records.batch_ids) == 15  # fourteen finished, one open


def test_same_day_counts_are_put_together_and_cleared_ones_wait(
    database: Database, head: Actor
) -> None:
    with database.writing() as session:
        batch = stick(session, head, stuck=50)
        check(session, head, batch, said(20, 5, lost=lost(2)))
        check(session, head, batch, said(20, 3))
        check(session, head, batch, said(10, 4, ending=Ending.CLEARED_UNROOTED))
    with database.reading() as session:
        histories = read_fit_records(session).histories
    assert histories.onsets.tolist() == [8.0, 4.0]
    assert histories.failures.tolist() == [2.0, 0.0]
    assert histories.start.tolist() == [0.0, 22.0]
    assert histories.end.tolist() == [22.0, 32.0]
    assert (histories.waiting.tolist(), histories.waiting_age.tolist()) == ([36.0], [32.0])


def test_a_sample_feeds_the_forecast_and_no_total(log: Database, head: Actor) -> None:
    learn(log, now=NOW)
    with log.reading() as session:
        before = facts(session, _open(session, "Hebe"))
    with log.writing() as session:
        sample = said(0, 0, kind=CheckKind.SAMPLE, looked=30)
        check(session, head, _open(session, "Hebe"), sample)
    with log.reading() as session:
        after = facts(session, _open(session, "Hebe"))
    assert after.next_count_on > before.next_count_on  # none of thirty had roots: it can wait
    assert (after.rooted, after.lost, after.unrooted) == (0, 0, 200)
