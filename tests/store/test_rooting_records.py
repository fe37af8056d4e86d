"""What the batches of one genus and type showed: their counts, codes and readings, no others'."""

import pytest
from sqlalchemy.orm import Session

from app.domain.cutting_types import CuttingType
from app.domain.people import Actor
from app.domain.thermal_times import Reading
from app.services.checks import withdraw_check
from app.store.queries.rooting_records import read_rooting_records
from tests.conftest import NOW
from tests.services.batch_records import add_plant
from tests.services.check_records import Stuck, check, correct, said, stick


@pytest.fixture
def plant(session: Session) -> int:
    return add_plant(session)


def semi_ripe(session: Session, head: Actor, plant: int) -> Stuck:
    return stick(session, head, plant=plant, cutting_type=CuttingType.SEMI_RIPE)


def test_only_the_group_asked_for(session: Session, head: Actor, plant: int) -> None:
    wanted = semi_ripe(session, head, plant)
    softwood = stick(session, head, plant=plant, cutting_type=CuttingType.SOFTWOOD)
    bare = stick(session, head, plant=plant)
    other = semi_ripe(session, head, add_plant(session, "Cistus x"))
    for batch in (wanted, softwood, bare, other):
        check(session, head, batch, said(10, 5))
    of_type = read_rooting_records(session, genus_id=1, cutting_type="semi-ripe")
    assert of_type.codes == (wanted.code,)
    assert of_type.histories.onsets.tolist() == [5.0]
    assert read_rooting_records(session, genus_id=1, cutting_type="").codes == (bare.code,)
    every = read_rooting_records(session, genus_id=1, cutting_type=None)
    assert every.codes == (wanted.code, softwood.code, bare.code)


def test_readings_come_with_their_day_as_they_stand_now(
    session: Session, head: Actor, plant: int
) -> None:
    batch = semi_ripe(session, head, plant)
    first = check(session, head, batch, said(32, 0, medium_c=17.5))
    check(session, head, batch, said(22, 5, medium_c=19.0))
    check(session, head, batch, said(12, 5))
    gone = check(session, head, batch, said(2, 5, medium_c=40.0))
    correct(session, head, first, said(32, 0, medium_c=18.0))
    withdraw_check(session, actor=head, now=NOW, check_id=gone.check_id, version=1, reason="wrong")
    (readings,) = read_rooting_records(session, genus_id=1, cutting_type=None).readings
    assert readings == (
        Reading(age_days=10, medium_c=18.0),
        Reading(age_days=20, medium_c=19.0),
    )
