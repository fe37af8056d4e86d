"""Reading whole tables for export: in key order, a chunk at a time, names in place of ids.

Each call is a short read of its own, so that a long export never holds the log open.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from string import ascii_lowercase, ascii_uppercase
from typing import Any, Final, TypeAlias

from sqlalchemy import ColumnElement, Select, and_, case, func, select
from sqlalchemy.orm import InstrumentedAttribute, Session, aliased

from app.domain.batch_rules import SOURCE_WORDS
from app.store.models.batches import Batch, BatchFacts, BatchSource
from app.store.models.benches import Bench
from app.store.models.checks import Check, CheckLoss, CheckVersion
from app.store.models.containers import Container
from app.store.models.hormones import HormoneRow
from app.store.models.lost_causes import LostCause
from app.store.models.mixes import Ingredient, Mix, MixLot, MixPart, MixVersion
from app.store.models.people import Person
from app.store.models.plant_names import PlantNameRow
from app.store.models.stock_plants import StockPlant

CHUNK: Final = 500
_LOWER: Final = str.maketrans(ascii_uppercase, ascii_lowercase)
Texts: TypeAlias = Mapping[int, str]


@dataclass(frozen=True, kw_only=True)
class ExportChunk:
    """Some rows of an export, and the key to go on after; no `following` at the end."""

    rows: tuple[tuple[Any, ...], ...]
    following: int | None


@dataclass(frozen=True, kw_only=True)
class ExportTable:
    """One table as it leaves: its columns by name, in order, and the key it is read by.

    `lists` are columns that gather several rows into one text, by the key. `later` are columns
    that came after those: the others keep their places.
    """

    columns: Mapping[str, Any]
    key: InstrumentedAttribute[int]
    source: Callable[[Select[*tuple[Any, ...]]], Select[*tuple[Any, ...]]]
    lists: Mapping[str, Callable[[Session, Sequence[int]], Texts]] = field(default_factory=dict)
    later: Mapping[str, Any] = field(default_factory=dict)

    @property
    def names(self) -> tuple[str, ...]:
        """The names of the columns in their order."""
        return (*self.columns, *self.lists, *self.later)


def read_export_chunk(session: Session, *, table: ExportTable, after: int) -> ExportChunk:
    """Return the rows of the next keys after this one."""
    keys = session.scalars(
        select(table.key).where(table.key > after).order_by(table.key).limit(CHUNK)
    ).all()
    labelled = [
        column.label(name) for name, column in (*table.columns.items(), *table.later.items())
    ]
    query = table.source(select(table.key.label("row_key"), *labelled))
    rows = session.execute(query.where(table.key.in_(keys)).order_by(table.key)).all()
    gathered = [read(session, keys) for read in table.lists.values()]
    end = 1 + len(table.columns)
    return ExportChunk(
        rows=tuple(
            (*row[1:end], *(texts.get(row[0], "") for texts in gathered), *row[end:])
            for row in rows
        ),
        following=keys[-1] if len(keys) == CHUNK else None,
    )


def read_exported(
    session: Session, *, table: ExportTable, column: str, keys: Sequence[str]
) -> Iterator[tuple[int, dict[str, Any]]]:
    """Yield the row id and the columns, by name, of the rows whose `column` is one of these texts.

    Capitals do not matter.
    """
    plain = {**table.columns, **table.later}
    labelled = [value.label(name) for name, value in plain.items()]
    query = table.source(select(table.key.label("row_key"), *labelled))
    # SQLite lowers plain letters only; others have to be written as they are stored.
    folded = sorted({key.translate(_LOWER) for key in keys})
    for start in range(0, len(folded), CHUNK):
        chunk = folded[start : start + CHUNK]
        rows = session.execute(query.where(func.lower(table.columns[column]).in_(chunk))).all()
        ids = [row[0] for row in rows]
        gathered = {name: read(session, ids) for name, read in table.lists.items()}
        for row in rows:
            values = dict(zip(plain, row[1:], strict=True))
            yield row[0], values | {name: texts.get(row[0], "") for name, texts in gathered.items()}


def person_name(person: Any) -> ColumnElement[str]:
    """Return a person's name, blank where it was erased."""
    return case((person.erased_at.is_(None), person.name), else_="")


def known_ppm(column: InstrumentedAttribute[int]) -> ColumnElement[int | None]:
    """Return a strength as it leaves: nothing where none is recorded."""
    return case((column >= 0, column), else_=None)


def _sources(session: Session, keys: Sequence[int]) -> Texts:
    query = (
        select(BatchSource, StockPlant.code)
        .outerjoin(StockPlant, StockPlant.id == BatchSource.stock_plant_id)
        .where(BatchSource.batch_id.in_(keys))
        .order_by(BatchSource.batch_id, BatchSource.position)
    )
    found: dict[int, list[str]] = {}
    for line, code in session.execute(query):
        said = [code or line.kind, *(getattr(line, name) for name in SOURCE_WORDS)]
        number = "" if line.number is None else f"{line.number} from "
        found.setdefault(line.batch_id, []).append(number + ", ".join(filter(None, said)))
    return {batch_id: "; ".join(lines) for batch_id, lines in found.items()}


def _lost_by_cause(session: Session, keys: Sequence[int]) -> Texts:
    query = (
        select(CheckVersion.check_id, LostCause.name, CheckLoss.number)
        .join_from(Check, CheckVersion, CheckVersion.check_id == Check.id)
        .join(CheckLoss, CheckLoss.check_version_id == CheckVersion.id)
        .join(LostCause, LostCause.id == CheckLoss.lost_cause_id)
        .where(Check.id.in_(keys), CheckVersion.number == Check.version)
        .order_by(CheckVersion.check_id, LostCause.position, LostCause.id)
    )
    found: dict[int, list[str]] = {}
    for check_id, cause, number in session.execute(query):
        found.setdefault(check_id, []).append(f"{number} {cause}")
    return {check_id: "; ".join(lines) for check_id, lines in found.items()}


_gathered_by, _made_by, _stuck_by = aliased(Person), aliased(Person), aliased(Person)
_restuck_from = aliased(Batch)

BATCHES: Final = ExportTable(
    key=Batch.id,
    columns={
        "batch": Batch.code,
        "plant": PlantNameRow.plain,
        "own_reference": Batch.own_reference,
        "reference_source": Batch.reference_source,
        "taken_on": Batch.taken_on,
        "taken": Batch.taken,
        "thrown_out": Batch.thrown_out,
        "stored_hours": Batch.stored_hours,
        "stored_c": Batch.stored_c,
        "stored_how": Batch.stored_how,
        "stuck_on": Batch.stuck_on,
        "stuck": Batch.stuck,
        "trays": Batch.trays,
        "per_tray": Batch.per_tray,
        "gaps": Batch.gaps,
        "gathered_by": person_name(_gathered_by),
        "made_by": person_name(_made_by),
        "stuck_by": person_name(_stuck_by),
        "hours": Batch.hours,
        "cutting_type": Batch.cutting_type,
        "cut": Batch.cut,
        "section": Batch.section,
        "growth_stage": Batch.growth_stage,
        "length_cm": Batch.length_cm,
        "leaves_left": Batch.leaves_left,
        "leaves_halved": Batch.leaves_halved,
        "wounded": Batch.wounded,
        "buds_removed": Batch.buds_removed,
        "flowering": Batch.flowering,
        "hormone": HormoneRow.substance,
        "hormone_form": HormoneRow.form,
        "hormone_ppm": known_ppm(HormoneRow.ppm),
        "dip_s": Batch.dip_s,
        "mix": Mix.name,
        "mix_version": MixVersion.number,
        "mix_lot": MixLot.code,
        "container": Container.name,
        "per_plug": Batch.per_place,
        "placed": Batch.placed,
        "bench": Bench.name,
        "cover": Batch.cover,
        "bottom_heat_c": Batch.bottom_heat_c,
        "shade": Batch.shade,
        "restuck_from": _restuck_from.code,
        "trial_block": Batch.trial_block,
        "rooted": BatchFacts.rooted,
        "lost": BatchFacts.lost,
        "dumped": BatchFacts.dumped,
        "cleared_unrooted": BatchFacts.cleared_unrooted,
        "unrooted": BatchFacts.unrooted,
        "last_looked_on": BatchFacts.last_looked_on,
        "counted_on": BatchFacts.counted_on,
        "due_on": BatchFacts.due_on,
        "ended_on": Batch.ended_on,
        "void": Batch.voided_at.is_not(None),
        "void_reason": Batch.void_reason,
        "note": Batch.notes,
    },
    source=lambda query: (
        query.join_from(Batch, PlantNameRow, PlantNameRow.id == Batch.plant_name_id)
        .join(BatchFacts, BatchFacts.batch_id == Batch.id)
        .outerjoin(HormoneRow, HormoneRow.id == Batch.hormone_id)
        .outerjoin(MixVersion, MixVersion.id == Batch.mix_version_id)
        .outerjoin(Mix, Mix.id == MixVersion.mix_id)
        .outerjoin(MixLot, MixLot.id == Batch.mix_lot_id)
        .outerjoin(Container, Container.id == Batch.container_id)
        .outerjoin(Bench, Bench.id == Batch.bench_id)
        .outerjoin(_gathered_by, _gathered_by.id == Batch.gathered_by_id)
        .outerjoin(_made_by, _made_by.id == Batch.made_by_id)
        .outerjoin(_stuck_by, _stuck_by.id == Batch.stuck_by_id)
        .outerjoin(_restuck_from, _restuck_from.id == Batch.restuck_from_id)
    ),
    lists={"sources": _sources},
    later={
        "thrown_out_cause": Batch.thrown_out_cause,
        "gathered_hours": Batch.gathered_hours,
        "made_hours": Batch.made_hours,
    },
)

_checked_by, _recorded_by = aliased(Person), aliased(Person)
_restuck_into = aliased(Batch)

CHECKS: Final = ExportTable(
    key=Check.id,
    columns={
        "batch": Batch.code,
        "plant": PlantNameRow.plain,
        "checked_on": Check.checked_on,
        "number_of_day": Check.running,
        "kind": Check.kind,
        "rooted": Check.rooted,
        "callused": Check.callused,
        "lost": Check.lost,
        "unrooted_counted": CheckVersion.unrooted_counted,
        "ending": Check.ending,
        "ended": Check.ended,
        "sample_of": CheckVersion.sample_of,
        "sample_rooted": CheckVersion.sample_rooted,
        "rooted_means": CheckVersion.rooted_means,
        "restuck_into": _restuck_into.code,
        "medium_c": CheckVersion.medium_c,
        "humidity_percent": CheckVersion.humidity_percent,
        "checked_by": person_name(_checked_by),
        "recorded_by": person_name(_recorded_by),
        "recorded_at": CheckVersion.recorded_at,
        "version": Check.version,
        "reason": CheckVersion.reason,
        "withdrawn": Check.withdrawn == 1,
        "note": CheckVersion.note,
    },
    source=lambda query: (
        query.join_from(
            Check,
            CheckVersion,
            and_(CheckVersion.check_id == Check.id, CheckVersion.number == Check.version),
        )
        .join(Batch, Batch.id == Check.batch_id)
        .join(PlantNameRow, PlantNameRow.id == Batch.plant_name_id)
        .outerjoin(_checked_by, _checked_by.id == CheckVersion.checked_by_id)
        .outerjoin(_recorded_by, _recorded_by.id == CheckVersion.recorded_by_id)
        .outerjoin(_restuck_into, _restuck_into.id == CheckVersion.restuck_into_id)
    ),
    lists={"lost_by_cause": _lost_by_cause},
)

_raised_from = aliased(Batch)

STOCK_PLANTS: Final = ExportTable(
    key=StockPlant.id,
    columns={
        "stock_plant": StockPlant.code,
        "plant": PlantNameRow.plain,
        "plants": StockPlant.plants,
        "bench": Bench.name,
        "state": StockPlant.state,
        "state_reason": StockPlant.state_reason,
        "origin": StockPlant.origin,
        "raised_from": _raised_from.code,
        "supplier": StockPlant.supplier,
        "supplier_reference": StockPlant.supplier_reference,
        "came_on": StockPlant.came_on,
        "rest_weeks": StockPlant.rest_weeks,
        "expected_per_plant": StockPlant.expected_per_plant,
        "cut_back_on": StockPlant.cut_back_on,
        "renew_by": StockPlant.renew_by,
        "tested_until": StockPlant.tested_until,
        "true_to_type_on": StockPlant.true_to_type_on,
        "flowering": StockPlant.flowering,
        "reentry_at": StockPlant.reentry_at,
        "discarded_on": StockPlant.discarded_on,
        "note": StockPlant.notes,
        "next_inspection_on": StockPlant.next_inspection_on,
    },
    source=lambda query: (
        query.join_from(StockPlant, PlantNameRow, PlantNameRow.id == StockPlant.plant_name_id)
        .outerjoin(Bench, Bench.id == StockPlant.bench_id)
        .outerjoin(_raised_from, _raised_from.id == StockPlant.raised_from_id)
    ),
)

MIXES: Final = ExportTable(
    key=MixVersion.id,
    columns={
        "mix": Mix.name,
        "version": MixVersion.number,
        "made_at": MixVersion.made_at,
        "ingredient": Ingredient.name,
        "parts": MixPart.parts,
        "shrinkage_share": MixVersion.shrinkage_share,
        "retired": Mix.retired_at.is_not(None),
        "note": MixVersion.notes,
    },
    source=lambda query: (
        query.join_from(MixVersion, Mix, Mix.id == MixVersion.mix_id)
        .outerjoin(MixPart, MixPart.mix_version_id == MixVersion.id)
        .outerjoin(Ingredient, Ingredient.id == MixPart.ingredient_id)
        .order_by(MixVersion.id, MixPart.position)
    ),
)
