"""The lists a nursery keeps, as they leave in sheets: plant names, places, causes, orders."""

from collections.abc import Sequence
from typing import Final

from sqlalchemy import ScalarSelect, and_, case, func, literal, select
from sqlalchemy.orm import Session, aliased

from app.domain.mix_lines import parts_line
from app.domain.mixes import MixPart as MixPartEntry
from app.store.models.batches import Batch
from app.store.models.benches import Bench
from app.store.models.check_plans import CheckPlanRow
from app.store.models.containers import Container
from app.store.models.genera import Genus
from app.store.models.hormones import HormoneRow
from app.store.models.lost_causes import LostCause
from app.store.models.mixes import (
    Ingredient,
    Mix,
    MixLot,
    MixLotMeasures,
    MixPart,
    MixVersion,
)
from app.store.models.orders import OrderRow
from app.store.models.people import Person
from app.store.models.plant_names import PlantNameRow
from app.store.queries.exports import ExportTable, Texts, known_ppm, person_name

PLANT_NAMES: Final = ExportTable(
    key=PlantNameRow.id,
    columns={
        "plant": PlantNameRow.plain,
        "family": Genus.family,
        "trade_designation": PlantNameRow.trade_designation,
        "common_name": PlantNameRow.common_name,
        "rights_grant": PlantNameRow.rights_grant,
        "rights_licence": PlantNameRow.rights_licence,
        "rights_until": PlantNameRow.rights_until,
        "note": PlantNameRow.notes,
    },
    source=lambda query: query.join_from(PlantNameRow, Genus, Genus.id == PlantNameRow.genus_id),
)

GENERA: Final = ExportTable(
    key=Genus.id,
    columns={
        "genus": Genus.name,
        "family": Genus.family,
        "caution": Genus.caution,
        "caution_route": Genus.caution_route,
        "caution_basis": Genus.caution_basis,
        "caution_applies_to": Genus.caution_applies_to,
    },
    source=lambda query: query.select_from(Genus),
)

BENCHES: Final = ExportTable(
    key=Bench.id,
    columns={
        "bench": Bench.name,
        "walking_order": Bench.walking_order,
        "capacity_trays": Bench.capacity_trays,
        "closed": Bench.closed_at.is_not(None),
        "note": Bench.notes,
    },
    source=lambda query: query.select_from(Bench),
)

CONTAINERS: Final = ExportTable(
    key=Container.id,
    columns={
        "container": Container.name,
        "kind": Container.kind,
        "plugs": Container.plugs,
        "volume_ml": Container.volume_ml,
        "retired": Container.retired_at.is_not(None),
    },
    source=lambda query: query.select_from(Container),
)

LOST_CAUSES: Final = ExportTable(
    key=LostCause.id,
    columns={
        "cause": LostCause.name,
        "spreads": LostCause.spreads,
        "retired": LostCause.retired_at.is_not(None),
    },
    source=lambda query: query.select_from(LostCause),
)

HORMONES: Final = ExportTable(
    key=HormoneRow.id,
    columns={
        "hormone": HormoneRow.label,
        "substance": HormoneRow.substance,
        "form": HormoneRow.form,
        "ppm": known_ppm(HormoneRow.ppm),
    },
    source=lambda query: query.select_from(HormoneRow),
)

_any_of = aliased(Genus)

ORDERS: Final = ExportTable(
    key=OrderRow.id,
    columns={
        "order": OrderRow.number,
        "plant": func.coalesce(PlantNameRow.plain, _any_of.name),
        "plants": OrderRow.plants,
        "due_on": OrderRow.due_on,
        "sure_share": OrderRow.sure_share,
        "place": OrderRow.place,
        "per_place": OrderRow.per_place,
        "enough_per_place": OrderRow.enough_per_place,
        "for_whom": OrderRow.for_whom,
        "cutting_type": OrderRow.cutting_type,
        "hormone": HormoneRow.label,
        "batches": OrderRow.batches,
        "window_weeks": OrderRow.window_weeks,
        "ready_share": OrderRow.ready_share,
        "weaning_days": OrderRow.weaning_days,
        "state": OrderRow.state,
        "ended_on": OrderRow.ended_on,
        "ended_reason": OrderRow.ended_reason,
        "note": OrderRow.notes,
    },
    source=lambda query: (
        query.select_from(OrderRow)
        .outerjoin(PlantNameRow, PlantNameRow.id == OrderRow.plant_name_id)
        .outerjoin(_any_of, _any_of.id == OrderRow.genus_id)
        .outerjoin(HormoneRow, HormoneRow.id == OrderRow.hormone_id)
    ),
)


def _recipes(session: Session, keys: Sequence[int]) -> Texts:
    """Return the newest recipe of each mix as it can be typed into one cell."""
    query = (
        select(MixVersion.mix_id, Ingredient.name, MixPart.parts)
        .join(MixPart, MixPart.mix_version_id == MixVersion.id)
        .join(Ingredient, Ingredient.id == MixPart.ingredient_id)
        .where(MixVersion.mix_id.in_(keys), MixVersion.number == _newest_number())
        .order_by(MixVersion.mix_id, MixPart.position)
    )
    found: dict[int, list[MixPartEntry]] = {}
    for mix_id, ingredient, parts in session.execute(query):
        found.setdefault(mix_id, []).append(MixPartEntry(ingredient=ingredient, parts=parts))
    return {mix_id: parts_line(tuple(parts)) for mix_id, parts in found.items()}


def _newest_number() -> ScalarSelect[int]:
    other = aliased(MixVersion)
    newest = select(func.max(other.number)).where(other.mix_id == MixVersion.mix_id)
    return newest.correlate(MixVersion).scalar_subquery()


RECIPES: Final = ExportTable(
    key=Mix.id,
    columns={
        "mix": Mix.name,
        "version": MixVersion.number,
        "shrinkage_share": MixVersion.shrinkage_share,
        "retired": Mix.retired_at.is_not(None),
        "note": MixVersion.notes,
    },
    source=lambda query: query.select_from(Mix).join(
        MixVersion, and_(MixVersion.mix_id == Mix.id, MixVersion.number == _newest_number())
    ),
    lists={"recipe": _recipes},
)

_made_by = aliased(Person)

MIX_LOTS: Final = ExportTable(
    key=MixLot.id,
    columns={
        "mix_lot": MixLot.code,
        "mix": Mix.name,
        "version": MixVersion.number,
        "made_on": MixLot.made_on,
        "made_by": person_name(_made_by),
        "asked_l": MixLotMeasures.asked_l,
        "litres": MixLot.litres,
        "extraction": MixLotMeasures.extraction,
        "medium_ec": MixLotMeasures.medium_ec,
        "medium_ph": MixLotMeasures.medium_ph,
        "water_ec": MixLotMeasures.water_ec,
        "water_ph": MixLotMeasures.water_ph,
        "container": MixLotMeasures.container,
        "container_ml": MixLotMeasures.container_ml,
        "saturation_ml": MixLotMeasures.saturation_ml,
        "drained_ml": MixLotMeasures.drained_ml,
        "empty_on": MixLotMeasures.empty_on,
        "void": MixLotMeasures.voided_at.is_not(None),
        "note": MixLot.notes,
    },
    source=lambda query: (
        query.select_from(MixLot)
        .join(MixVersion, MixVersion.id == MixLot.mix_version_id)
        .join(Mix, Mix.id == MixVersion.mix_id)
        .outerjoin(MixLotMeasures, MixLotMeasures.mix_lot_id == MixLot.id)
        .outerjoin(_made_by, _made_by.id == MixLot.made_by_id)
    ),
)

NURSERY_PLAN: Final = "whole nursery"
_plan_genus, _plan_batch = aliased(Genus), aliased(Batch)

CHECK_PLANS: Final = ExportTable(
    key=CheckPlanRow.id,
    columns={
        "plan": case(
            (CheckPlanRow.batch_id.is_not(None), _plan_batch.code),
            (CheckPlanRow.genus_id.is_(None), literal(NURSERY_PLAN)),
            (CheckPlanRow.cutting_type == "", _plan_genus.name),
            else_=_plan_genus.name.concat(": ").concat(CheckPlanRow.cutting_type),
        ),
        "look_every_days": CheckPlanRow.look_every_days,
        "first_count_day": CheckPlanRow.first_count_day,
        "count_every_days": CheckPlanRow.count_every_days,
        "looks_only": CheckPlanRow.looks_only,
        "learned": CheckPlanRow.learned,
    },
    source=lambda query: (
        query.select_from(CheckPlanRow)
        .outerjoin(_plan_genus, _plan_genus.id == CheckPlanRow.genus_id)
        .outerjoin(_plan_batch, _plan_batch.id == CheckPlanRow.batch_id)
    ),
)
