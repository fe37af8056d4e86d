"""The re-entry times of stock plants, as treatments set them: the later one wins.

What was set by hand is kept beside, so that withdrawing a treatment restores what holds without
it, in whatever order treatments were entered and withdrawn. A time set by hand after a treatment
holds against it: whoever set it has seen it.
"""

from collections.abc import Collection

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from app.store.models.stock_plants import StockPlant
from app.store.models.treatments import StockPlantReentry, Treatment, TreatmentStockPlant


def set_reentries(
    session: Session, *, treatment: Treatment, stock_plant_ids: Collection[int], chosen: set[int]
) -> None:
    """Tie stock plants to a treatment, and put their re-entry time later where it is later."""
    for plant_id in sorted(stock_plant_ids):
        kept = _kept(session, plant_id)
        session.add(
            TreatmentStockPlant(
                treatment_id=treatment.id, stock_plant_id=plant_id, chosen=int(plant_id in chosen)
            )
        )
        session.flush()
        _write(session, kept)


def restore_reentries(session: Session, *, treatment: Treatment) -> None:
    """Give the stock plants of a treatment the re-entry time that holds without it."""
    query = select(TreatmentStockPlant).where(TreatmentStockPlant.treatment_id == treatment.id)
    for tied in session.scalars(query).all():
        kept = _kept(session, tied.stock_plant_id)
        tied.counts = 0
        session.flush()
        _write(session, kept)


def _kept(session: Session, plant_id: int) -> StockPlantReentry:
    """Return what the plant's time rests on, once a time set by hand meanwhile is its own."""
    plant = session.get_one(StockPlant, plant_id)
    kept = session.get(StockPlantReentry, plant_id)
    if kept is None:
        kept = StockPlantReentry(
            stock_plant_id=plant_id, own_at=plant.reentry_at, set_at=plant.reentry_at
        )
        session.add(kept)
    elif kept.set_at != plant.reentry_at:
        kept.own_at = kept.set_at = plant.reentry_at
        ties = TreatmentStockPlant.__table__
        session.execute(
            update(ties).where(ties.c.stock_plant_id == plant_id).values(counts=0)  # type: ignore[arg-type]
        )
        session.expire_all()
    session.flush()
    return kept


def _write(session: Session, kept: StockPlantReentry) -> None:
    plant_id = kept.stock_plant_id
    query = (
        select(Treatment.reentry_at)
        .join(TreatmentStockPlant, TreatmentStockPlant.treatment_id == Treatment.id)
        .where(
            TreatmentStockPlant.stock_plant_id == plant_id,
            TreatmentStockPlant.counts == 1,
            Treatment.reentry_at.is_not(None),
        )
    )
    times = [at for at in (kept.own_at, *session.scalars(query)) if at is not None]
    kept.set_at = max(times, default=None)
    session.get_one(StockPlant, plant_id).reentry_at = kept.set_at
    session.flush()
