"""Leaf, scale and root cuttings, divisions and grafts through the services."""

from dataclasses import replace
from typing import Any

import pytest
from sqlalchemy.orm import Session

from app.domain.cutting_types import CuttingType
from app.domain.orders import OrderEntry
from app.domain.people import Actor
from app.domain.problems import NotAccepted
from app.domain.strike_rates_keys import RateKey
from app.domain.strike_rates_questions import RateFilter, RateQuestion, Ways, usual_ways
from app.domain.way_details import NOTHING, GraftMethod, WayDetails, WayUp
from app.services.batches import correct_batch
from app.services.checks import withdraw_check
from app.services.orders import add_order
from app.services.verifying import verify_log
from app.store.queries.batch_entries import get_batch_entry
from app.store.queries.checks import get_check, list_check_versions
from app.store.queries.fit_records import read_fit_records
from app.store.queries.fits import count_settled
from app.store.queries.history import list_history
from app.store.queries.planned_batches import read_planned_batches
from app.store.queries.strike_rates import get_group_facts
from tests.conftest import NOW, TODAY
from tests.services.batch_records import add_plant, days_ago
from tests.services.check_records import Stuck, check, correct, facts, lost, said, stick

GRAFTED = WayDetails(graft_method=GraftMethod.CHIP_BUD, rootstock_source="lot 3", union_cm=10.0)


def of_type(session: Session, actor: Actor, kind: CuttingType, **more: Any) -> Stuck:
    plant = add_plant(session, f"Rosa {kind}")
    return stick(session, actor, plant=plant, cutting_type=kind, **more)


def test_details_are_kept_and_corrected_with_a_history(session: Session, head: Actor) -> None:
    rootstock = add_plant(session, "Rosa canina")
    details = replace(GRAFTED, rootstock_id=rootstock)
    batch = of_type(session, head, CuttingType.GRAFT, details=details)
    stored = get_batch_entry(session, batch_id=batch.id)
    assert stored.details == details
    kept: dict[str, Any] = {"actor": head, "today": TODAY, "now": NOW, "batch_id": batch.id}
    after = replace(stored, details=replace(details, graft_method=GraftMethod.T_BUD))
    correct_batch(session, **kept, version=1, entry=after)
    assert get_batch_entry(session, batch_id=batch.id).details == after.details
    (changed,) = list_history(session, subject=f"batch {batch.code}", zone="UTC")[0].changes
    assert (changed.field, changed.before, changed.after) == ("graft method", "chip bud", "T-bud")
    blank = replace(after, details=NOTHING)
    correct_batch(session, **kept, version=2, entry=blank)
    assert get_batch_entry(session, batch_id=batch.id).details == NOTHING
    assert list(verify_log(session)) == []


def test_details_of_another_type_are_refused(session: Session, head: Actor) -> None:
    with pytest.raises(NotAccepted, match="for grafts") as caught:
        of_type(session, head, CuttingType.ROOT, details=GRAFTED)
    fields = {problem.field for problem in caught.value.problems}
    assert fields == {"graft_method", "rootstock_source", "union_cm"}


def test_plantlets_stand_apart_from_the_pieces_that_struck(session: Session, head: Actor) -> None:
    upside = WayDetails(way_up=WayUp.UPSIDE_DOWN)
    batch = of_type(session, head, CuttingType.ROOT, details=upside, stuck=20)
    first = check(session, head, batch, said(9, rooted=12, lost=lost(2), plantlets=40))
    assert get_check(session, check_id=first.check_id).plantlets == 40
    assert (facts(session, batch).rooted, facts(session, batch).unrooted) == (12, 6)
    second = correct(session, head, first, said(9, rooted=12, lost=lost(2), plantlets=44))
    versions = list_check_versions(session, check_id=first.check_id)
    assert [each.plantlets for each in versions] == [44, 40]
    withdraw_check(
        session,
        actor=head,
        now=NOW,
        check_id=first.check_id,
        version=second.version,
        reason="another batch",
    )
    assert get_check(session, check_id=first.check_id).plantlets == 44
    assert list(verify_log(session)) == []


def test_plantlets_of_other_types_are_refused(session: Session, head: Actor) -> None:
    batch = of_type(session, head, CuttingType.DIVISION)
    with pytest.raises(NotAccepted, match="leaf, root and scale") as caught:
        check(session, head, batch, said(9, rooted=12, plantlets=3))
    assert [problem.field for problem in caught.value.problems] == ["plantlets"]


def test_divisions_and_grafts_are_in_no_rate_of_cuttings(session: Session, head: Actor) -> None:
    for kind, rooted in (
        (CuttingType.ROOT, 10),
        (CuttingType.DIVISION, 96),
        (CuttingType.GRAFT, 90),
    ):
        batch = of_type(session, head, kind)
        check(session, head, batch, said(9, rooted=rooted, lost=lost(96 - rooted)))
    asked = RateQuestion(ways=usual_ways(()))
    found = get_group_facts(session, question=asked).every
    assert (found.batches, found.rooted) == (1, 10)
    where = (RateFilter(key=RateKey.CUTTING_TYPE, value="graft"),)
    of_grafts = RateQuestion(where=where, ways=usual_ways(where))
    assert get_group_facts(session, question=of_grafts).every.rooted == 90
    others = replace(asked, ways=Ways.OTHERS)
    assert get_group_facts(session, question=others).every.batches == 2


def test_nothing_is_learned_from_divisions_and_grafts(session: Session, head: Actor) -> None:
    cuttings = of_type(session, head, CuttingType.LEAF)
    check(session, head, cuttings, said(9, rooted=40, lost=lost(56)))
    for kind in (CuttingType.DIVISION, CuttingType.GRAFT):
        batch = of_type(session, head, kind)
        check(session, head, batch, said(9, rooted=90, lost=lost(6)))
    assert list(read_fit_records(session).batch_ids) == [cuttings.id]
    assert list(read_planned_batches(session).batch_ids) == [cuttings.id]
    assert count_settled(session) == 1


def test_an_order_asks_for_cuttings_only(session: Session, head: Actor) -> None:
    entry = OrderEntry(
        plant_name_id=add_plant(session),
        plants=100,
        due_on=days_ago(-200),
        cutting_type=CuttingType.GRAFT,
    )
    with pytest.raises(NotAccepted, match="not worked out"):
        add_order(session, actor=head, today=TODAY, now=NOW, entry=entry)
