"""Sticking, correcting, voiding and reinstating batches."""

import json
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.batches import BatchEntry, SourceKind, SourceLine, copy_of
from app.domain.check_entries import CheckEntry
from app.domain.cutting_types import Cut, CuttingType, Section
from app.domain.hormones import Hormone
from app.domain.outcomes import Ending
from app.domain.people import Actor
from app.domain.problems import ChangedMeanwhile, NotAccepted, NotAllowed, NotFound
from app.services.batches import (
    StuckBatch,
    correct_batch,
    stick_batch,
    void_batch,
)
from app.services.checks import record_check
from app.store.models.batches import Batch, BatchFacts, BatchSource
from app.store.models.benches import BenchStay
from app.store.models.history import HistoryLine
from app.store.models.stock_plants import StockPlant
from app.store.queries.batch_entries import get_batch_entry
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


def stick(session: Session, actor: Actor, said: BatchEntry, today: date = TODAY) -> StuckBatch:
    return stick_batch(session, actor=actor, today=today, now=NOW, entry=said)


def correct(
    session: Session, actor: Actor, stuck: StuckBatch, said: BatchEntry, **more: Any
) -> None:
    values: dict[str, Any] = {"version": 1, "today": TODAY, "now": NOW} | more
    correct_batch(session, actor=actor, batch_id=stuck.id, entry=said, **values)


def void(session: Session, actor: Actor, stuck: StuckBatch, reason: str = "typed twice") -> None:
    void_batch(session, actor=actor, today=TODAY, now=NOW, batch_id=stuck.id, reason=reason)


def facts(session: Session, stuck: StuckBatch) -> Any:
    query = select(BatchFacts.__table__).where(BatchFacts.batch_id == stuck.id)
    return session.execute(query).one()


def stays(session: Session, stuck: StuckBatch) -> list[tuple[int, date, date | None]]:
    query = select(BenchStay.bench_id, BenchStay.from_on, BenchStay.to_on).where(
        BenchStay.batch_id == stuck.id
    )
    return [tuple(row) for row in session.execute(query)]


def last_line(session: Session) -> tuple[str, str, str, dict[str, Any]]:
    line = session.scalars(select(HistoryLine).order_by(HistoryLine.sequence.desc())).first()
    assert line is not None
    return line.actor_key, line.what, line.subject, json.loads(line.change)


def refusal(caught: pytest.ExceptionInfo[NotAccepted]) -> tuple[str, str]:
    (problem,) = caught.value.problems
    return problem.field, problem.sentence


def everything(session: Session, plant: int, person_id: int) -> BatchEntry:
    (mix,) = add_mix(session)
    return entry(
        plant,
        trays=2, per_tray=50, gaps=4,
        sources=(
            from_stock_plant(add_stock_plant(session, plant), 60),
            SourceLine(
                kind=SourceKind.BOUGHT_IN, supplier="Larkfold Plants", lot="L7", passport="A 1",
                condition="dry tips", number=40,
            ),
        ),
        taken_on=days_ago(1), taken=104, thrown_out=8, stored_hours=20.0, stored_c=4.0,
        stored_how="damp, in the dark", gathered_by_id=person_id, made_by_id=person_id,
        stuck_by_id=person_id, hours=1.5, cutting_type=CuttingType.SEMI_RIPE, cut=Cut.NODAL,
        section=Section.TIP, growth_stage="firm at the base", length_cm=11.0, leaves_left=3,
        leaves_halved=True, wounded=False, buds_removed=True, flowering=False,
        hormone=Hormone(substance="IBA", form="talc", ppm=1000), dip_s=3.0, mix_version_id=mix,
        mix_lot_id=add_mix_lot(session, mix), container_id=add_container(session), per_place=1,
        placed="middle", cover="mist", bottom_heat_c=20.0, shade="light",
        bench_id=add_bench(session), taken_over=("cover", "bottom_heat_c"), trial_block="B1",
        own_reference="book 3, 17", notes="from the top of the hedge",
    )  # fmt: skip


def test_a_batch_reads_back_as_it_was_entered(session: Session, trainee: Actor) -> None:
    said = everything(session, add_plant(session), trainee.person_id)
    stuck = stick(session, trainee, said)
    assert get_batch_entry(session, batch_id=stuck.id) == said


def test_what_was_not_said_reads_back_as_not_recorded(session: Session, trainee: Actor) -> None:
    said = entry(add_plant(session))
    stuck = stick(session, trainee, said)
    assert get_batch_entry(session, batch_id=stuck.id) == said
    with pytest.raises(NotFound):
        get_batch_entry(session, batch_id=stuck.id + 1)


def test_codes_count_up_within_the_year_of_sticking(session: Session, head: Actor) -> None:
    said = entry(add_plant(session))
    last_year = replace(said, stuck_on=date(2025, 12, 31))
    codes = [stick(session, head, each).code for each in (said, last_year, said, last_year)]
    assert codes == ["26-0001", "25-0001", "26-0002", "25-0002"]


def test_a_code_is_not_given_again_after_its_batch_was_voided(
    session: Session, head: Actor
) -> None:
    said = entry(add_plant(session))
    first = stick(session, head, said)
    void(session, head, first)
    assert stick(session, head, said).code == "26-0002"


def test_codes_grow_past_four_digits(session: Session, head: Actor) -> None:
    plant = add_plant(session)
    row = Batch(
        year=2026, number=9999, code="26-9999", plant_name_id=plant, stuck_on=TODAY, stuck=1,
        made_at=NOW,
    )  # fmt: skip
    session.add(row)
    session.flush()
    assert stick(session, head, entry(plant)).code == "26-10000"


def test_facts_stay_and_history_are_written_with_the_batch(
    session: Session, trainee: Actor
) -> None:
    bench = add_bench(session)
    stuck = stick(session, trainee, entry(add_plant(session), bench_id=bench))
    found = facts(session, stuck)
    assert (found.stuck, found.unrooted, found.open, found.voided) == (96, 96, 1, 0)
    assert (found.year_stuck, found.month_stuck) == (2026, 11)
    assert found.due_on is not None
    assert found.late_on > found.due_on
    assert stays(session, stuck) == [(bench, TODAY, None)]
    assert last_line(session) == ("key-of-trainee", "batch stuck", "batch 26-0001", {})


def test_the_same_hormone_is_stored_once(session: Session, head: Actor) -> None:
    said = entry(add_plant(session), hormone=Hormone(substance="IBA", form="gel", ppm=3000))
    first, second = stick(session, head, said), stick(session, head, said)
    ids = {session.get_one(Batch, each.id).hormone_id for each in (first, second)}
    assert len(ids) == 1
    assert None not in ids


def test_a_mix_lot_brings_its_recipe(session: Session, head: Actor) -> None:
    old, new = add_mix(session, versions=2)
    lot = add_mix_lot(session, old)
    plant = add_plant(session)
    stuck = stick(session, head, entry(plant, mix_lot_id=lot))
    assert session.get_one(Batch, stuck.id).mix_version_id == old
    newer = stick(session, head, entry(plant, mix_lot_id=lot, mix_version_id=new))
    assert session.get_one(Batch, newer.id).mix_version_id == old
    (other,) = add_mix(session, "Seed mix")
    with pytest.raises(NotAccepted) as caught:
        stick(session, head, entry(plant, mix_lot_id=lot, mix_version_id=other))
    assert refusal(caught)[0] == "mix"


def test_what_breaks_a_rule_is_not_stored(session: Session, head: Actor) -> None:
    with pytest.raises(NotAccepted, match="from 1 to"):
        stick(session, head, entry(add_plant(session), stuck=0))
    assert session.scalars(select(Batch.id)).all() == []


def test_re_stuck_cuttings_come_from_a_batch_that_could_give_them(
    session: Session, head: Actor
) -> None:
    plant = add_plant(session)
    parent = stick(session, head, entry(plant, stuck_on=days_ago(30), stuck=50))
    child = entry(plant, restuck_from_id=parent.id, stuck=12)
    assert stick(session, head, child).code == "26-0002"
    for wrong, says in (
        (replace(child, stuck=51), "Only 50"),
        (replace(child, stuck_on=days_ago(31)), "was stuck later"),
        (replace(child, restuck_from_id=99), "Name the batch"),
    ):
        with pytest.raises(NotAccepted) as caught:
            stick(session, head, wrong)
        assert refusal(caught)[0] == "restuck_from"
        assert says in refusal(caught)[1]


def test_a_correction_is_told_field_by_field_without_row_ids(
    session: Session, trainee: Actor
) -> None:
    said = everything(session, add_plant(session), trainee.person_id)
    stuck = stick(session, trainee, said)
    other = add_plant(session, "Hebe 'Amy'")
    bench = add_bench(session, "Cold frame A")
    corrected = replace(
        said, plant_name_id=other, bench_id=bench, stuck=100, gaps=0, taken=None, thrown_out=None,
        stuck_by_id=None, hormone=None, cut=None, leaves_halved=None,
    )  # fmt: skip
    correct(session, trainee, stuck, corrected, reason="read the label again")
    assert get_batch_entry(session, batch_id=stuck.id) == corrected
    assert last_line(session) == (
        "key-of-trainee",
        "batch corrected",
        "batch 26-0001",
        {
            "plant": ["Hebe 'Great Orme'", "Hebe 'Amy'"],
            "bench": ["Mist bench 2", "Cold frame A"],
            "stuck": [96, 100],
            "gaps": [4, 0],
            "taken": [104, None],
            "thrown_out": [8, None],
            "stuck_by": ["key-of-trainee", None],
            "hormone": ["IBA talc 1000 ppm", None],
            "cut": ["nodal", None],
            "leaves_halved": [True, None],
            "reason": [None, "read the label again"],
        },
    )
    assert facts(session, stuck).unrooted == 100
    assert stays(session, stuck) == [(bench, TODAY, None)]
    assert session.get_one(Batch, stuck.id).version == 2


def test_correcting_nothing_writes_nothing(session: Session, trainee: Actor) -> None:
    said = entry(add_plant(session))
    stuck = stick(session, trainee, said)
    correct(session, trainee, stuck, said)
    assert session.get_one(Batch, stuck.id).version == 1
    assert last_line(session)[1] == "batch stuck"


def test_corrected_sources_alone_count_up_the_version(session: Session, head: Actor) -> None:
    plant = add_plant(session)
    said = entry(plant, sources=(from_stock_plant(add_stock_plant(session, plant), 60),))
    stuck = stick(session, head, said)
    correct(session, head, stuck, replace(said, sources=()))
    assert session.get_one(Batch, stuck.id).version == 2
    assert session.scalars(select(BatchSource.id)).all() == []
    assert last_line(session)[3] == {"sources": [["60 from S-0031"], []]}


def test_the_code_stays_when_the_year_is_corrected(session: Session, head: Actor) -> None:
    said = entry(add_plant(session))
    stuck = stick(session, head, said)
    correct(session, head, stuck, replace(said, stuck_on=date(2025, 11, 25)))
    assert session.get_one(Batch, stuck.id).code == "26-0001"
    assert facts(session, stuck).year_stuck == 2025


def test_the_second_editor_is_shown_both_versions(session: Session, head: Actor) -> None:
    said = entry(add_plant(session), cover="mist")
    stuck = stick(session, head, said)
    correct(session, head, stuck, replace(said, cover="fog"))
    with pytest.raises(ChangedMeanwhile) as caught:
        correct(session, head, stuck, replace(said, cover="fleece", stuck_by_id=head.person_id))
    assert caught.value.version == 2
    both = {change.field: (change.now, change.wanted) for change in caught.value.changes}
    assert both == {"cover": ("fog", "fleece"), "stuck_by": ("nothing", "Ines Farrow")}
    assert get_batch_entry(session, batch_id=stuck.id).cover == "fog"


def test_a_trainee_corrects_own_entries_of_late_only(
    session: Session, trainee: Actor, head: Actor, manager: Actor
) -> None:
    said = entry(add_plant(session))
    own, foreign = stick(session, trainee, said), stick(session, head, said)
    changed = replace(said, cover="mist")
    tomorrow, later = TODAY + timedelta(days=1), TODAY + timedelta(days=2)
    with pytest.raises(NotAllowed, match="Ask the head propagator"):
        correct(session, trainee, foreign, changed)
    with pytest.raises(NotAllowed):
        correct(session, trainee, own, changed, today=later)
    with pytest.raises(NotAllowed):
        correct(session, manager, own, changed)
    correct(session, trainee, own, changed, today=tomorrow)
    correct(session, head, own, replace(said, cover="fog"), today=later, version=2)
    assert get_batch_entry(session, batch_id=own.id).cover == "fog"


def checked(session: Session, actor: Actor, stuck: StuckBatch, on: date, **more: Any) -> None:
    said = CheckEntry(checked_on=on, **more)
    record_check(session, actor=actor, today=TODAY, now=NOW, batch_id=stuck.id, entry=said)


def test_a_correction_must_leave_the_checks_true(session: Session, head: Actor) -> None:
    said = entry(add_plant(session), stuck_on=days_ago(40))
    stuck = stick(session, head, said)
    checked(session, head, stuck, days_ago(10), rooted=60)
    for wrong, field, says in (
        (replace(said, stuck=59), "stuck", "found 60 rooted and lost"),
        (replace(said, stuck_on=days_ago(9)), "stuck_on", "There is a check of"),
    ):
        with pytest.raises(NotAccepted) as caught:
            correct(session, head, stuck, wrong)
        assert refusal(caught)[0] == field
        assert says in refusal(caught)[1]
    correct(session, head, stuck, replace(said, stuck=60))
    found = facts(session, stuck)
    assert (found.stuck, found.rooted, found.unrooted, found.open) == (60, 60, 0, 0)


def test_fewer_stuck_leave_less_for_the_ending(session: Session, head: Actor) -> None:
    said = entry(add_plant(session), stuck_on=days_ago(40))
    stuck = stick(session, head, said)
    checked(session, head, stuck, days_ago(1), rooted=60, ending=Ending.DUMPED)
    correct(session, head, stuck, replace(said, stuck=70))
    found = facts(session, stuck)
    assert (found.rooted, found.dumped, found.unrooted) == (60, 10, 0)


def test_a_plant_that_went_on_hold_later_does_not_bar_a_correction(
    session: Session, head: Actor, trainee: Actor
) -> None:
    plant = add_plant(session)
    source = add_stock_plant(session, plant)
    said = entry(plant, sources=(from_stock_plant(source),))
    stuck = stick(session, trainee, said)
    held = add_stock_plant(session, plant, 32, state="on hold")
    session.get_one(StockPlant, source).state = "on hold"
    session.flush()
    correct(session, trainee, stuck, replace(said, cover="mist"))
    with pytest.raises(NotAccepted):
        correct(
            session, trainee, stuck,
            replace(said, sources=(from_stock_plant(source), from_stock_plant(held))), version=2,
        )  # fmt: skip


def test_another_like_it_keeps_everything_but_the_numbers(session: Session, trainee: Actor) -> None:
    said = everything(session, add_plant(session), trainee.person_id)
    stuck = stick(session, trainee, said)
    like = copy_of(get_batch_entry(session, batch_id=stuck.id), today=TODAY)
    assert (like.stuck, like.trays, like.taken, like.notes, like.own_reference) == (
        0, None, None, "", "",
    )  # fmt: skip
    assert [line.number for line in like.sources] == [None, None]
    assert (like.taken_on, like.stored_hours) == (said.taken_on, said.stored_hours)
    again = stick(session, trainee, replace(like, stuck=42))
    kept = get_batch_entry(session, batch_id=again.id)
    assert (kept.hormone, kept.bench_id, kept.cut) == (said.hormone, said.bench_id, said.cut)


def test_another_like_an_older_one_is_stuck_today() -> None:
    same_day = entry(1, stuck_on=days_ago(9), taken_on=days_ago(9))
    assert copy_of(same_day, today=TODAY).stuck_on == TODAY
    assert copy_of(same_day, today=TODAY).taken_on == TODAY
    stored = entry(1, stuck_on=days_ago(9), taken_on=days_ago(10), stored_hours=24)
    assert copy_of(stored, today=TODAY).taken_on is None
    assert copy_of(stored, today=TODAY).stored_hours is None
