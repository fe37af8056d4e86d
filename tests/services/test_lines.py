"""Loops are refused wherever a line could be bent into one, and found where they stand."""

from dataclasses import replace
from typing import Any

import pytest
from sqlalchemy import update
from sqlalchemy.orm import Session

from app.domain.people import Actor
from app.domain.problems import NotAccepted
from app.domain.stock_plants import Origin, StockPlantEntry
from app.services.batches import correct_batch, void_batch
from app.services.stock_plants import add_stock_plant, correct_stock_plant
from app.services.verifying import verify_log
from app.store.models.batches import Batch
from app.store.models.stock_plants import StockPlant
from app.store.queries.batch_entries import get_batch_entry
from tests.conftest import NOW, TODAY
from tests.services.batch_records import add_plant, from_stock_plant
from tests.services.batch_records import add_stock_plant as put_stock_plant
from tests.services.check_records import Stuck, stick


@pytest.fixture
def line(session: Session, head: Actor) -> tuple[int, Stuck, int]:
    """A stock plant, the batch cut from it, and the stock plant raised from that."""
    plant = add_plant(session)
    first = put_stock_plant(session, plant)
    batch = stick(session, head, plant=plant, sources=(from_stock_plant(first),))
    raised = add_stock_plant(session, actor=head, today=TODAY, now=NOW, entry=raised_from(batch))
    return first, batch, raised.id


def raised_from(batch: Stuck) -> StockPlantEntry:
    return StockPlantEntry(plant_name_id=1, origin=Origin.RAISED_HERE, raised_from_id=batch.id)


def correct_plant(session: Session, actor: Actor, plant_id: int, entry: StockPlantEntry) -> None:
    version = session.get_one(StockPlant, plant_id).version
    correct_stock_plant(
        session,
        actor=actor,
        today=TODAY,
        now=NOW,
        stock_plant_id=plant_id,
        version=version,
        entry=entry,
    )


def correct(session: Session, actor: Actor, batch: Stuck, **values: Any) -> None:
    stored = get_batch_entry(session, batch_id=batch.id)
    correct_batch(
        session,
        actor=actor,
        today=TODAY,
        now=NOW,
        batch_id=batch.id,
        version=session.get_one(Batch, batch.id).version,
        entry=replace(stored, **values),
    )


def test_a_stock_plant_is_not_raised_from_what_was_cut_from_it(
    session: Session, head: Actor, line: tuple[int, Stuck, int]
) -> None:
    first, batch, _ = line
    with pytest.raises(NotAccepted, match=f"{batch.code} itself comes from S-0031") as refused:
        correct_plant(session, head, first, raised_from(batch))
    assert refused.value.problems[0].field == "raised_from"
    assert session.get_one(StockPlant, first).raised_from_id is None


def test_a_batch_is_not_cut_from_what_was_raised_in_it(
    session: Session, head: Actor, line: tuple[int, Stuck, int]
) -> None:
    first, batch, raised = line
    with pytest.raises(NotAccepted, match=f"S-0032 itself comes from {batch.code}") as refused:
        correct(session, head, batch, sources=(from_stock_plant(first), from_stock_plant(raised)))
    assert refused.value.problems[0].field == "sources-1-stock_plant"
    later = stick(session, head, plant=1, sources=(from_stock_plant(raised),))
    with pytest.raises(NotAccepted) as refused:
        correct(session, head, batch, restuck_from_id=later.id)
    assert refused.value.problems[0].field == "restuck_from"


def test_a_void_batch_does_not_open_a_way_round(
    session: Session, head: Actor, line: tuple[int, Stuck, int]
) -> None:
    first, batch, _ = line
    void_batch(session, actor=head, today=TODAY, now=NOW, batch_id=batch.id, reason="twice")
    other = stick(session, head, plant=1, sources=(from_stock_plant(line[2]),))
    with pytest.raises(NotAccepted, match="itself comes from"):
        correct_plant(session, head, first, raised_from(other))


def test_a_loop_made_behind_the_programs_back_is_found(
    session: Session, head: Actor, line: tuple[int, Stuck, int]
) -> None:
    first, batch, _ = line
    session.flush()
    assert list(verify_log(session)) == []
    session.execute(
        update(StockPlant).where(StockPlant.id == first).values(raised_from_id=batch.id)
    )
    found = {finding.record for finding in verify_log(session)}
    assert found == {f"batch {batch.code}", "stock plant S-0031"}
