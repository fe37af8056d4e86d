"""Material that is not simply cut: re-entry times, plants on hold, missing licences."""

import json
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.batches import BatchEntry
from app.domain.people import Actor
from app.domain.problems import NotAccepted
from app.services.batches import StuckBatch, correct_batch, stick_batch
from app.store.models.history import HistoryLine
from app.store.models.plant_names import PlantNameRow
from tests.conftest import NOW, TODAY
from tests.services.batch_records import add_plant, add_stock_plant, entry, from_stock_plant


def stick(session: Session, actor: Actor, said: BatchEntry) -> StuckBatch:
    return stick_batch(session, actor=actor, today=TODAY, now=NOW, entry=said)


def correct(
    session: Session, actor: Actor, stuck: StuckBatch, said: BatchEntry, version: int = 1
) -> None:
    given = {"today": TODAY, "now": NOW, "version": version}
    correct_batch(session, actor=actor, batch_id=stuck.id, entry=said, **given)  # type: ignore[arg-type]


def refusal(caught: pytest.ExceptionInfo[NotAccepted]) -> tuple[str, str]:
    (problem,) = caught.value.problems
    return problem.field, problem.sentence


def last_change(session: Session) -> Any:
    line = session.scalars(select(HistoryLine).order_by(HistoryLine.sequence.desc())).first()
    assert line is not None
    return json.loads(line.change)


def test_a_running_re_entry_time_bars_everybody_from_cutting(session: Session, head: Actor) -> None:
    plant = add_plant(session)
    treated = add_stock_plant(session, plant, reentry_at=NOW + timedelta(hours=2))
    said = entry(plant, sources=(from_stock_plant(treated),), hold_reason="it looks fine")
    with pytest.raises(NotAccepted, match="nobody is to work among it before 11:00") as caught:
        stick(session, head, said)
    assert refusal(caught)[0] == "sources-0-stock_plant"
    after = {"actor": head, "today": TODAY, "now": NOW + timedelta(hours=2)}
    assert stick_batch(session, **after, entry=said).code == "26-0001"  # type: ignore[arg-type]


def test_a_protected_variety_without_a_licence_is_for_the_head_with_a_reason(
    session: Session, head: Actor, trainee: Actor
) -> None:
    plant = add_plant(session)
    stick(session, trainee, entry(plant))
    session.get_one(PlantNameRow, plant).rights_grant = "EU 123"
    with pytest.raises(NotAccepted) as caught:
        stick(session, trainee, entry(plant, rights_reason="somebody said so"))
    assert refusal(caught)[0] == "plant"
    with pytest.raises(NotAccepted) as caught:
        stick(session, head, entry(plant))
    assert refusal(caught)[0] == "rights_reason"
    stick(session, head, entry(plant, rights_reason="the holder agreed by telephone"))
    assert last_change(session) == {
        "reason for sticking without a licence": [None, "the holder agreed by telephone"]
    }
    session.get_one(PlantNameRow, plant).rights_licence = "L-7"
    stick(session, trainee, entry(plant))


def test_correcting_a_batch_does_not_ask_for_its_licence_again(
    session: Session, head: Actor
) -> None:
    plant = add_plant(session)
    batch = stick(session, head, entry(plant))
    session.get_one(PlantNameRow, plant).rights_grant = "EU 123"
    correct(session, head, batch, entry(plant, stuck=97))
    other = add_plant(session, "Hebe 'Invented Queen'")
    session.get_one(PlantNameRow, other).rights_grant = "EU 124"
    with pytest.raises(NotAccepted) as caught:
        correct(session, head, batch, entry(other, stuck=97), version=2)
    assert refusal(caught)[0] == "rights_reason"


def test_a_stock_plant_on_hold_is_for_the_head_with_a_reason(
    session: Session, head: Actor, trainee: Actor
) -> None:
    plant = add_plant(session)
    held = add_stock_plant(session, plant, state="on hold", state_reason="leaf spots")
    said = entry(plant, sources=(from_stock_plant(held),))
    with pytest.raises(NotAccepted) as caught:
        stick(session, trainee, replace(said, hold_reason="it looks fine"))
    assert refusal(caught)[0] == "sources-0-stock_plant"
    with pytest.raises(NotAccepted) as caught:
        stick(session, head, said)
    assert refusal(caught)[0] == "hold_reason"
    stick(session, head, replace(said, hold_reason="tested clean"))
    assert last_change(session) == {
        "reason for taking from a plant on hold": [None, "tested clean"]
    }
