"""Batches from which rooting times can be learned, for tests."""

from sqlalchemy.orm import Session

from app.domain.cutting_types import CuttingType
from app.domain.outcomes import Ending
from app.domain.people import Actor
from tests.services.batch_records import add_plant, days_ago
from tests.services.check_records import Stuck, check, lost, said, stick


def add_finished(
    session: Session,
    head: Actor,
    *,
    batches: int,
    plant: int | None = None,
    median: int = 28,
    cutting_type: CuttingType = CuttingType.SEMI_RIPE,
) -> int:
    """Finish so many batches of 60 of a plant (a Hebe if left out), and return the plant.

    Each roots 40, half of them about `median` days after sticking; 20 are lost or dumped.
    """
    chosen = plant or add_plant(session)
    for number in range(batches):
        age, middle = 90 + 3 * number, median + number % 5 - 2
        batch = stick(
            session,
            head,
            plant=chosen,
            stuck_on=days_ago(age),
            stuck=60,
            cutting_type=cutting_type,
        )
        for day, rooted, gone in ((middle - 8, 6, 4), (middle, 14, 4), (middle + 8, 14, 3)):
            check(session, head, batch, said(age - day, rooted, lost=lost(gone)))
        check(session, head, batch, said(age - 80, 6, ending=Ending.DUMPED))
    return chosen


def add_growing(
    session: Session,
    head: Actor,
    *,
    plant: int,
    stuck: int = 100,
    age_days: int = 20,
    **more: object,
) -> Stuck:
    """Stick a semi-ripe batch so many days ago that nobody has looked at yet."""
    values = {"cutting_type": CuttingType.SEMI_RIPE, **more}
    return stick(session, head, plant=plant, stuck=stuck, stuck_on=days_ago(age_days), **values)
