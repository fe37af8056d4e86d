"""A batch's entry in words: every reference by name or code, as history and pages say it."""

from collections.abc import Mapping
from typing import Any, Final

from sqlalchemy import select
from sqlalchemy.orm import InstrumentedAttribute, Session

from app.domain.batch_rules import SOURCE_WORDS
from app.domain.batches import BatchEntry, SourceLine
from app.domain.way_details import WayDetails
from app.store.models.batches import Batch
from app.store.models.benches import Bench
from app.store.models.containers import Container
from app.store.models.method_cards import MethodCardVersion
from app.store.models.mixes import Mix, MixLot, MixVersion
from app.store.models.people import Person
from app.store.models.plant_names import PlantNameRow
from app.store.models.stock_plants import StockPlant

_PEOPLE: Final = {
    "gathered_by_id": "gathered_by",
    "made_by_id": "made_by",
    "stuck_by_id": "stuck_by",
}
_PLAIN: Final = (
    "stuck", "trays", "per_tray", "gaps", "taken", "thrown_out", "thrown_out_cause", "stored_hours",
    "stored_c", "stored_how", "gathered_hours", "made_hours", "hours", "growth_stage", "length_cm",
    "leaves_left", "leaves_halved", "wounded", "buds_removed", "flowering", "dip_s", "per_place",
    "placed", "cover", "bottom_heat_c", "shade", "trial_block", "own_reference", "reference_source",
    "notes",
)  # fmt: skip
_REFERENCES: Final[Mapping[str, tuple[str, InstrumentedAttribute[Any]]]] = {
    "plant_name_id": ("plant", PlantNameRow.plain),
    "container_id": ("container", Container.name),
    "bench_id": ("bench", Bench.name),
    "mix_lot_id": ("mix_lot", MixLot.code),
    "restuck_from_id": ("restuck_from", Batch.code),
    "method_card_version_id": ("method_card_version", MethodCardVersion.number),
}


def entry_words(session: Session, *, entry: BatchEntry, by_key: bool) -> dict[str, Any]:
    """Return each field of an entry in words, never by row ids.

    With `by_key` people are given by their lasting key, as history holds them, else by name.
    """
    words: dict[str, Any] = {
        "stuck_on": entry.stuck_on.isoformat(),
        "taken_on": entry.taken_on.isoformat() if entry.taken_on else None,
        "hormone": entry.hormone.label if entry.hormone else None,
        "mix": _mix(session, entry.mix_version_id),
        "taken_over": list(entry.taken_over),
    }
    for field in ("cutting_type", "cut", "section"):
        value = getattr(entry, field)
        words[field] = value.value if value else None
    for field, (name, label) in _REFERENCES.items():
        words[name] = _label(session, label, getattr(entry, field))
    for field, name in _PEOPLE.items():
        words[name] = _label(session, Person.key if by_key else Person.name, getattr(entry, field))
    words |= _details(session, entry.details)
    words |= {field: getattr(entry, field) for field in _PLAIN}
    return words | {"sources": [_source(session, line) for line in entry.sources]}


def _details(session: Session, details: WayDetails) -> dict[str, Any]:
    words: dict[str, Any] = {
        "rootstock": _label(session, PlantNameRow.plain, details.rootstock_id),
        "rootstock_source": details.rootstock_source,
        "union_cm": details.union_cm,
    }
    for field in ("way_up", "leaf_part", "scale_kind", "graft_method"):
        value = getattr(details, field)
        words[field] = value.value if value else None
    return words


def _label(session: Session, label: InstrumentedAttribute[Any], row_id: int | None) -> Any:
    if row_id is None:
        return None
    return session.scalar(select(label).where(label.class_.id == row_id))


def _mix(session: Session, mix_version_id: int | None) -> str | None:
    query = (
        select(Mix.name, MixVersion.number)
        .join(MixVersion, MixVersion.mix_id == Mix.id)
        .where(MixVersion.id == mix_version_id)
    )
    row = session.execute(query).one_or_none() if mix_version_id is not None else None
    return f"{row.name}, version {row.number}" if row else None


def _source(session: Session, line: SourceLine) -> str:
    code = _label(session, StockPlant.code, line.stock_plant_id)
    number = "" if line.number is None else f"{line.number} from "
    said = [code or line.kind.value, *(getattr(line, name) for name in SOURCE_WORDS)]
    return number + ", ".join(part for part in said if part)
