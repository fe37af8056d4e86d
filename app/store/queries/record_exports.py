"""The lists a nursery keeps, as they leave in sheets: plant names, places, causes, orders."""

from typing import Final

from sqlalchemy import func
from sqlalchemy.orm import aliased

from app.store.models.benches import Bench
from app.store.models.containers import Container
from app.store.models.genera import Genus
from app.store.models.hormones import HormoneRow
from app.store.models.lost_causes import LostCause
from app.store.models.orders import OrderRow
from app.store.models.plant_names import PlantNameRow
from app.store.queries.exports import ExportTable, known_ppm

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
