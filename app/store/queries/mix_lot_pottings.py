"""Reading what was potted up, or on, from mix lots, and how many litres that used."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import Select, func, select
from sqlalchemy.orm import Session, aliased

from app.domain.liner_stages import StagesDoNotAddUp, follow_stages
from app.domain.mix_lots import litres_for
from app.store.models.batches import Batch
from app.store.models.containers import Container
from app.store.models.liner_lots import LinerLot, LinerStage
from app.store.models.plant_names import PlantNameRow
from app.store.queries.liner_families import read_family


@dataclass(frozen=True, kw_only=True)
class LotPotting:
    """A potting of a liner lot from a mix lot.

    `litres` used are None where not known; `said` if somebody said so.
    """

    lot: str
    plant: str
    stage: str
    on: date
    number: int
    litres: float | None
    said: bool


def list_lot_pottings(
    session: Session, *, lot_ids: Iterable[int]
) -> Mapping[int, tuple[LotPotting, ...]]:
    """Return the pottings from each of these mix lots, the first one first; withdrawn ones not.

    Where nobody said how many litres, they follow from the number of pots or plugs; of a lot that
    was potted on, as many as were in it then.
    """
    rows = session.execute(_pottings(lot_ids)).all()
    there = _there(session, [row.liner_lot_id for row in rows if row.number is None])
    found: dict[int, tuple[LotPotting, ...]] = {}
    for row in rows:
        number = there.get(row.id, 0) if row.number is None else row.number
        worked_out = litres_for(
            volume_ml=row.volume_ml, plugs=None, trays=None, stuck=number, per_place=1
        )
        potting = LotPotting(
            lot=row.code,
            plant=row.plain,
            stage=row.stage,
            on=row.reached_on,
            number=number,
            litres=worked_out if row.litres is None else row.litres,
            said=row.litres is not None,
        )
        found[row.mix_lot_id] = (*found.get(row.mix_lot_id, ()), potting)
    return found


def _pottings(lot_ids: Iterable[int]) -> Select[*tuple[Any, ...]]:
    into = aliased(LinerLot)
    of_lot = func.coalesce(LinerStage.into_lot_id, LinerStage.liner_lot_id)
    return (
        select(
            LinerStage.id,
            LinerStage.liner_lot_id,
            LinerStage.mix_lot_id,
            into.code,
            PlantNameRow.plain,
            LinerStage.stage,
            LinerStage.reached_on,
            LinerStage.number,
            LinerStage.litres,
            Container.volume_ml,
        )
        .join(into, into.id == of_lot)
        .outerjoin(Batch, Batch.id == into.batch_id)
        .join(
            PlantNameRow, PlantNameRow.id == func.coalesce(into.plant_name_id, Batch.plant_name_id)
        )
        .outerjoin(Container, Container.id == LinerStage.container_id)
        .where(LinerStage.mix_lot_id.in_(list(lot_ids)), LinerStage.withdrawn == 0)
        .order_by(LinerStage.reached_on, LinerStage.id)
    )


def _there(session: Session, lot_ids: list[int]) -> Mapping[int, int]:
    """Return how many were in these lots at each of their stages, by the id of the stage."""
    if not lot_ids:
        return {}
    family = read_family(session, lot_ids=lot_ids)
    try:
        return follow_stages(family.events, lots=family.lots, rooted=family.rooted).left
    except StagesDoNotAddUp:
        # The log was changed behind the program's back; `strikewell verify` says where.
        return {}
