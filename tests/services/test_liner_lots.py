"""After rooting: plants are counted at every stage, in the order of days, also after a withdrawal.

The stages are common practice, no source; the arithmetic is worked out by hand beside each test.
"""

from collections.abc import Callable
from dataclasses import replace

import pytest
from sqlalchemy import select, text, update
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from app.domain.liner_stages import Stage
from app.domain.people import Actor
from app.domain.problems import NotAccepted, NotAllowed
from app.services.batches import correct_batch, void_batch
from app.services.checks import withdraw_check
from app.services.liner_lots import correct_lot, pot_up
from app.services.liner_stages import correct_stage
from app.store.models.benches import BenchStay
from app.store.models.history import HistoryLine
from app.store.models.liner_lots import LinerLot, LinerLotFacts, LinerStage
from app.store.models.stock_plants import StockPlant
from app.store.queries.batch_entries import get_batch_entry
from app.store.queries.order_progress import get_data_version
from tests.conftest import NOW, TODAY
from tests.services.batch_records import add_bench, add_container, add_plant, days_ago
from tests.services.check_records import check, correct, said, stick
from tests.services.liner_records import (
    after_rooting,
    cause,
    findings,
    happened,
    lot_row,
    merge,
    of_batch,
    pot,
    rooted_batch,
    split,
    stage,
    there,
    withdraw,
)


def refused(action: Callable[[], object]) -> tuple[str, str]:
    """Return the field and the sentence that an action is refused with."""
    with pytest.raises(NotAccepted) as refusal:
        action()
    problem = refusal.value.problems[0]
    return problem.field, problem.sentence


def stage_ids(session: Session, lot: int) -> list[int]:
    query = select(LinerStage.id).where(LinerStage.liner_lot_id == lot)
    return list(session.scalars(query.order_by(LinerStage.id)))


def test_a_lot_is_made_of_rooted_ones_and_stands_on_a_bench(session: Session, head: Actor) -> None:
    batch = rooted_batch(session, head, rooted=80)
    bench, container = add_bench(session), add_container(session, name="9 cm pot", kind="pot")
    entry = stage(Stage.POTTED_UP, 10, number=50, bench_id=bench, container_id=container, trays=5)
    made = pot_up(session, actor=head, today=TODAY, now=NOW, batch_id=batch.id, entry=entry)
    assert made.lot_code == "L-0001"
    lot = session.scalars(select(LinerLot)).one()
    assert (lot.batch_id, lot.trays, there(session, lot.id)) == (batch.id, 5, 50)
    assert lot_row(session, lot.id).container_id == container
    assert session.scalars(select(BenchStay.bench_id).where(BenchStay.liner_lot_id == lot.id)).one()
    assert after_rooting(session, batch) == (50, 0, 0, 50)
    subjects = session.scalars(select(HistoryLine.subject).order_by(HistoryLine.sequence)).all()
    assert [f"batch {batch.code}", "liner lot L-0001"] == list(subjects)[-2:]
    assert findings(session) == []


def test_the_story_of_a_lot_adds_up(session: Session, head: Actor) -> None:
    # 80 rooted: 4 lost while weaned, 70 potted up; 5 lost, 3 graded out, 62 ready; 40 sent out.
    batch = rooted_batch(session, head, rooted=80)
    grey = cause(session)
    of_batch(session, head, batch, stage(Stage.WEANING, 13))
    of_batch(session, head, batch, stage(Stage.LOST, 12, number=4, cause_id=grey))
    lot = pot(session, head, batch, 70, days=10)
    happened(session, head, lot, stage(Stage.PINCHED, 9))
    happened(session, head, lot, stage(Stage.LOST, 8, number=5, cause_id=grey))
    happened(session, head, lot, stage(Stage.GRADED_OUT, 7, number=3, grade="too small"))
    happened(session, head, lot, stage(Stage.WINTERED, 6))
    assert after_rooting(session, batch) == (74, 0, 12, 62)
    happened(session, head, lot, stage(Stage.READY, 5))
    assert after_rooting(session, batch) == (74, 62, 12, 0)
    happened(session, head, lot, stage(Stage.SENT_OUT, 4, number=40))
    happened(session, head, lot, stage(Stage.LOST, 3, number=2, cause_id=grey))
    assert (there(session, lot), after_rooting(session, batch)) == (20, (74, 62, 12, 0))
    happened(session, head, lot, stage(Stage.SENT_OUT, 1, number=20))
    row = lot_row(session, lot)
    assert (row.number, row.began, row.empty_on, row.ready_on) == (0, 70, days_ago(1), days_ago(5))
    assert findings(session) == []


def test_no_more_are_taken_than_were_rooted_by_that_day(session: Session, head: Actor) -> None:
    batch = rooted_batch(session, head, rooted=30)
    check(session, head, batch, said(7, 20))
    field, sentence = refused(lambda: pot(session, head, batch, 40, days=10))
    assert (field, "has 30 rooted ones" in sentence) == ("number", True)
    session.rollback()


def test_before_any_were_rooted_none_are_potted_up(session: Session, head: Actor) -> None:
    batch = rooted_batch(session, head, rooted=30)
    field, sentence = refused(lambda: pot(session, head, batch, 5, days=20))
    assert (field, "Enter the check" in sentence) == ("on", True)


@pytest.mark.parametrize(
    ("entry", "field"),
    [
        (stage(Stage.LOST, 1, number=5), "cause"),
        (stage(Stage.LOST, 1), "number"),
        (stage(Stage.LOST, -1, number=1), "on"),
        (stage(Stage.GRADED_OUT, 1, number=1), "grade"),
        (stage(Stage.GRADED_OUT, 1, number=1, grade="x" * 61), "grade"),
        (stage(Stage.GRADED_OUT, 1, number=61, grade="small"), "number"),
        (stage(Stage.SENT_OUT, 1, number=5), "on"),
        (stage(Stage.WINTERED, 1, number=5), "number"),
        (stage(Stage.PINCHED, 11), "on"),
        (stage(Stage.SPLIT, 1, number=5), "stage"),
        (stage(Stage.POTTED_ON, 1, container_id=99), "container"),
        (stage(Stage.LOOKED_AT, 1, notes="x" * 2001), "notes"),
    ],
)
def test_a_stage_that_cannot_be_is_refused_by_its_field(
    session: Session, head: Actor, entry: object, field: str
) -> None:
    lot = pot(session, head, rooted_batch(session, head), 60)
    assert refused(lambda: happened(session, head, lot, entry))[0] == field  # type: ignore[arg-type]


def test_some_that_are_ready_become_a_lot_of_their_own(session: Session, head: Actor) -> None:
    batch = rooted_batch(session, head)
    lot = pot(session, head, batch, 60)
    made = happened(session, head, lot, stage(Stage.READY, 2, number=25))
    assert (made.lot_code, len(made.stage_ids), there(session, lot)) == ("L-0002", 2, 35)
    assert after_rooting(session, batch) == (60, 25, 0, 35)
    withdraw(session, head, *made.stage_ids)
    assert (there(session, lot), after_rooting(session, batch)) == (60, (60, 0, 0, 60))
    assert findings(session) == []


def test_a_split_takes_over_where_it_stands_and_whether_it_is_ready(
    session: Session, head: Actor
) -> None:
    batch, bench = rooted_batch(session, head), add_bench(session)
    entry = stage(Stage.POTTED_UP, 10, number=60, bench_id=bench)
    pot_up(session, actor=head, today=TODAY, now=NOW, batch_id=batch.id, entry=entry)
    happened(session, head, 1, stage(Stage.READY, 5))
    part = split(session, head, 1, 20, days=3)
    assert (there(session, 1), there(session, part)) == (40, 20)
    assert lot_row(session, part).ready_on == days_ago(5)
    assert session.scalars(select(BenchStay.bench_id).where(BenchStay.liner_lot_id == part)).one()
    assert after_rooting(session, batch) == (60, 60, 0, 0)
    field, _ = refused(lambda: split(session, head, part, 20, days=1))
    assert field == "number"


def test_only_ready_lots_of_one_plant_are_merged(session: Session, head: Actor) -> None:
    plant = add_plant(session)
    first = pot(session, head, rooted_batch(session, head, plant=plant), 60)
    second = pot(session, head, rooted_batch(session, head, plant=plant), 40)
    other_plant = add_plant(session, "Hebe 'Marjorie'")
    other = pot(session, head, rooted_batch(session, head, plant=other_plant), 10)
    session.commit()
    assert refused(lambda: merge(session, head, [first]))[0] == "lots"
    assert refused(lambda: merge(session, head, [first, other]))[0] == "lots"
    assert "not ready" in refused(lambda: merge(session, head, [first, second]))[1]
    session.rollback()
    for lot in (first, second):
        happened(session, head, lot, stage(Stage.READY, 4))
    merged = merge(session, head, [first, second], days=3)
    assert [there(session, lot) for lot in (first, second, merged)] == [0, 0, 100]
    row = session.get_one(LinerLot, merged)
    assert (row.batch_id, row.plant_name_id) == (None, plant)
    happened(session, head, merged, stage(Stage.SENT_OUT, 1, number=70))
    # 70 of the 100 are gone: neither parent can be taken back by itself.
    assert refused(lambda: withdraw(session, head, stage_ids(session, first)[-1]))[0] == "reason"
    session.rollback()


def test_a_batch_in_a_merged_lot_keeps_its_plant(session: Session, head: Actor) -> None:
    plant, other = add_plant(session), add_plant(session, "Hebe 'Marjorie'")
    batches = [rooted_batch(session, head, plant=plant) for _ in range(2)]
    lots = [pot(session, head, batch, 40) for batch in batches]
    for lot in lots:
        happened(session, head, lot, stage(Stage.READY, 4))
    merge(session, head, lots)
    entry = replace(get_batch_entry(session, batch_id=batches[0].id), plant_name_id=other)
    field, sentence = refused(
        lambda: correct_batch(
            session, actor=head, today=TODAY, now=NOW, batch_id=batches[0].id, version=1,
            entry=entry,
        )
    )  # fmt: skip
    assert (field, "merge" in sentence) == ("plant", True)


def test_plants_kept_become_stock_plants_raised_from_the_batch(
    session: Session, head: Actor
) -> None:
    batch = rooted_batch(session, head)
    lot = pot(session, head, batch, 60)
    made = happened(session, head, lot, stage(Stage.KEPT, 2, number=3))
    plant = session.scalars(select(StockPlant)).one()
    assert (plant.code, plant.plants, plant.raised_from_id) == (made.stock_plant_code, 3, batch.id)
    # A plant good enough to be kept is a plant that was made.
    assert after_rooting(session, batch) == (60, 3, 0, 57)
    withdraw(session, head, *made.stage_ids)
    session.refresh(plant)
    assert (plant.state, after_rooting(session, batch)) == ("discarded", (60, 0, 0, 60))


def test_a_trainee_keeps_no_stock_plants(session: Session, trainee: Actor) -> None:
    lot = pot(session, trainee, rooted_batch(session, trainee), 60)
    field, sentence = refused(
        lambda: happened(session, trainee, lot, stage(Stage.KEPT, 2, number=3))
    )
    assert (field, "head" in sentence) == ("stage", True)


def test_a_stage_that_later_ones_lean_on_is_not_withdrawn(session: Session, head: Actor) -> None:
    batch = rooted_batch(session, head)
    lot = pot(session, head, batch, 60)
    happened(session, head, lot, stage(Stage.LOST, 2, number=5, cause_id=cause(session)))
    potted = session.scalars(select(LinerStage.id).where(LinerStage.stage == "potted up")).one()
    session.commit()
    field, sentence = refused(lambda: withdraw(session, head, potted))
    assert (field, "5 lost, grey mould" in sentence) == ("reason", True)
    session.rollback()
    assert there(session, lot) == 55
    withdraw(session, head, *stage_ids(session, lot))
    withdraw(session, head, potted)
    assert (there(session, lot), after_rooting(session, batch)) == (0, (0, 0, 0, 0))
    assert refused(lambda: withdraw(session, head, potted))[0] == ""
    assert findings(session) == []


def test_a_withdrawal_gives_a_reason_and_is_ones_own(
    session: Session, head: Actor, trainee: Actor
) -> None:
    lot = pot(session, head, rooted_batch(session, head), 60)
    made = happened(session, head, lot, stage(Stage.PINCHED, 2))
    assert refused(lambda: withdraw(session, head, *made.stage_ids, reason=" "))[0] == "reason"
    with pytest.raises(NotAllowed):
        withdraw(session, trainee, *made.stage_ids)


def test_a_corrected_stage_keeps_its_place_of_the_day(session: Session, head: Actor) -> None:
    batch = rooted_batch(session, head)
    lot = pot(session, head, batch, 60, days=5)
    happened(session, head, lot, stage(Stage.READY, 5))
    potted = session.scalars(select(LinerStage.id).where(LinerStage.stage == "potted up")).one()
    entry = stage(Stage.POTTED_UP, 5, number=58)
    new = correct_stage(
        session, actor=head, today=TODAY, now=NOW, stage_id=potted, entry=entry, reason="miscount"
    )
    old = session.get_one(LinerStage, potted)
    assert (old.withdrawn, old.withdrawn_reason, new != potted) == (1, "miscount", True)
    assert (there(session, lot), after_rooting(session, batch)) == (58, (58, 58, 0, 0))
    session.commit()
    too_many = stage(Stage.POTTED_UP, 5, number=81)
    field, _ = refused(
        lambda: correct_stage(
            session, actor=head, today=TODAY, now=NOW, stage_id=new, entry=too_many, reason="more"
        )
    )
    assert field == "number"
    session.rollback()
    assert findings(session) == []


def test_checks_cannot_leave_fewer_rooted_than_were_taken(session: Session, head: Actor) -> None:
    batch = stick(session, head)
    stored = check(session, head, batch, said(14, 80))
    pot(session, head, batch, 60)
    session.commit()
    field, sentence = refused(lambda: correct(session, head, stored, said(14, 59)))
    assert (field, "60 were potted up" in sentence) == ("rooted", True)
    session.rollback()
    later = refused(lambda: correct(session, head, stored, said(9, 80)))
    assert later[0] == "rooted"
    session.rollback()
    with pytest.raises(NotAccepted):
        withdraw_check(
            session, actor=head, now=NOW, check_id=stored.check_id,
            version=stored.version, reason="wrong batch",
        )  # fmt: skip
    session.rollback()
    correct(session, head, stored, said(14, 60))
    assert findings(session) == []


def test_the_database_itself_keeps_rooted_and_taken_together(session: Session, head: Actor) -> None:
    batch = rooted_batch(session, head, rooted=80)
    pot(session, head, batch, 60)
    with pytest.raises(IntegrityError, match="liners_add_up"):
        session.execute(text("UPDATE liner_facts SET taken = 90, growing = 90"))


def test_a_batch_with_lots_does_not_become_void(session: Session, head: Actor) -> None:
    batch = rooted_batch(session, head)
    pot(session, head, batch, 60)
    field, sentence = refused(
        lambda: void_batch(
            session, actor=head, today=TODAY, now=NOW, batch_id=batch.id, reason="mistake"
        )
    )
    assert (field, "60 potted up as L-0001" in sentence) == ("reason", True)


def test_trays_and_notes_of_a_lot_are_put_right(session: Session, head: Actor) -> None:
    lot = pot(session, head, rooted_batch(session, head), 60)
    values = {"actor": head, "now": NOW, "lot_id": lot, "version": 1}
    assert refused(lambda: correct_lot(session, **values, trays=0, notes=""))[0] == "trays"  # type: ignore[arg-type]
    correct_lot(session, **values, trays=4, notes=" by the door ")  # type: ignore[arg-type]
    row = session.get_one(LinerLot, lot)
    assert (row.trays, row.notes, row.version) == (4, "by the door", 2)


def test_stages_let_learned_figures_be_stale(session: Session, head: Actor) -> None:
    batch = rooted_batch(session, head)
    before = get_data_version(session)
    pot(session, head, batch, 60)
    assert get_data_version(session) > before


@pytest.mark.parametrize(
    ("change", "found"),
    [
        ("UPDATE liner_lot_facts SET number = 7", "number after rooting is 7"),
        ("DELETE FROM liner_facts", "are missing"),
        ("UPDATE liner_facts SET ready = 1, growing = 59", "ready after rooting is 1"),
        ("UPDATE liner_lots SET code = 'L-9999'", "gives the code L-0001"),
        ("UPDATE liner_stages SET number = 81", "do not add up"),
    ],
)
def test_verify_finds_what_was_changed_behind_its_back(
    session: Session, head: Actor, change: str, found: str
) -> None:
    pot(session, head, rooted_batch(session, head), 60)
    assert findings(session) == []
    session.execute(text(change))
    assert any(found in one for one in findings(session))


def test_verify_finds_lots_in_the_wrong_place(session: Session, head: Actor) -> None:
    plant = add_plant(session)
    batches = [rooted_batch(session, head, plant=plant) for _ in range(2)]
    lot = pot(session, head, batches[0], 60)
    session.execute(update(LinerLot).where(LinerLot.id == lot).values(batch_id=batches[1].id))
    assert any("another batch" in one for one in findings(session))


def test_a_lot_none_went_into_has_no_plants(session: Session, head: Actor) -> None:
    session.execute(text("DROP TRIGGER liner_stages_no_delete"))
    batch = rooted_batch(session, head)
    pot(session, head, batch, 60)
    session.execute(text("DELETE FROM liner_stages"))
    assert session.scalars(select(LinerLotFacts.number)).one() == 60
    assert any("number after rooting is 60; its stages give 0" in one for one in findings(session))
