"""How each name of a question about strike rates is read from the tables, and spelled.

Batches are read from their narrow summary; the batch itself is joined, by primary key, only for
names that the summary does not hold.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Final, TypeAlias

from sqlalchemy import ColumnElement, FromClause, extract, select
from sqlalchemy.orm import InstrumentedAttribute

from app.domain.strike_rates_keys import NOT_RECORDED, RateKey
from app.domain.strike_rates_questions import DayOf
from app.store.models.batches import Batch, BatchFacts, BatchSource
from app.store.models.benches import Bench
from app.store.models.containers import Container
from app.store.models.genera import Genus
from app.store.models.hormones import HormoneRow
from app.store.models.mixes import Mix
from app.store.models.people import Person
from app.store.models.plant_names import PlantNameRow
from app.store.models.stock_plants import StockPlant

Column: TypeAlias = ColumnElement[Any] | InstrumentedAttribute[Any]
Speller: TypeAlias = Callable[[Sequence[Any], str | None], str]


@dataclass(frozen=True, kw_only=True)
class Register:
    """The table that names what a number stands for."""

    id: InstrumentedAttribute[int]
    label: InstrumentedAttribute[str]


@dataclass(frozen=True, kw_only=True)
class NameSource:
    """Where a name's values stand.

    `columns` are grouped by; the last of them is the number looked up in `register`, if there is
    one. `spell` makes the printed value of the columns' values and the register's label.
    """

    columns: tuple[Column, ...]
    spell: Speller
    register: Register | None = None
    needs_batch: bool = False
    needs_sources: bool = False


# A batch counts once for each of its sources, however many lines name the same one.
SOURCES: Final[FromClause] = (
    select(BatchSource.batch_id, BatchSource.kind, BatchSource.stock_plant_id)
    .distinct()
    .subquery("sources")
)
_REGISTERS: Final = {
    RateKey.GENUS: Register(id=Genus.id, label=Genus.name),
    RateKey.PLANT: Register(id=PlantNameRow.id, label=PlantNameRow.plain),
    RateKey.METHOD: Register(id=HormoneRow.id, label=HormoneRow.label),
    RateKey.HORMONE: Register(id=HormoneRow.id, label=HormoneRow.label),
    RateKey.MIX: Register(id=Mix.id, label=Mix.name),
    RateKey.PERSON: Register(id=Person.id, label=Person.name),
    RateKey.BENCH: Register(id=Bench.id, label=Bench.name),
    RateKey.CONTAINER: Register(id=Container.id, label=Container.name),
    RateKey.STOCK_PLANT: Register(id=StockPlant.id, label=StockPlant.code),
}
_IN_FACTS: Final[dict[RateKey, tuple[Column, ...]]] = {
    RateKey.GENUS: (BatchFacts.genus_id,),
    RateKey.PLANT: (BatchFacts.plant_name_id,),
    RateKey.METHOD: (BatchFacts.cutting_type, BatchFacts.hormone_id),
    RateKey.CUTTING_TYPE: (BatchFacts.cutting_type,),
    RateKey.HORMONE: (BatchFacts.hormone_id,),
    RateKey.MIX: (BatchFacts.mix_id,),
}
_IN_BATCH: Final[dict[RateKey, tuple[Column, ...]]] = {
    RateKey.PERSON: (Batch.stuck_by_id,),
    RateKey.BENCH: (Batch.bench_id,),
    RateKey.COVER: (Batch.cover,),
    RateKey.BOTTOM_HEAT: (Batch.bottom_heat_c,),
    RateKey.CONTAINER: (Batch.container_id,),
}


def source_of(key: RateKey, *, day_of: DayOf) -> NameSource:
    """Return where the values of a name stand; months and years go by `day_of`."""
    register = _REGISTERS.get(key)
    if key in {RateKey.MONTH, RateKey.YEAR}:
        return _calendar_source(key, day_of=day_of)
    if key is RateKey.STOCK_PLANT:
        columns = (SOURCES.c.kind, SOURCES.c.stock_plant_id)
        return NameSource(
            columns=columns, spell=_spell_source, register=register, needs_sources=True
        )
    if key in _IN_BATCH:
        return NameSource(
            columns=_IN_BATCH[key],
            spell=_spell_label if register else _spell_value,
            register=register,
            needs_batch=True,
        )
    spell = _spell_method if key is RateKey.METHOD else _spell_label if register else _spell_value
    return NameSource(columns=_IN_FACTS[key], spell=spell, register=register)


def day_column(day_of: DayOf) -> Column:
    """Return the column of the day that since and until are held against."""
    return BatchFacts.stuck_on if day_of is DayOf.STUCK else Batch.taken_on


def _calendar_source(key: RateKey, *, day_of: DayOf) -> NameSource:
    if day_of is DayOf.STUCK:
        column = BatchFacts.month_stuck if key is RateKey.MONTH else BatchFacts.year_stuck
        return NameSource(columns=(column,), spell=_spell_value)
    part = extract(key.value, Batch.taken_on)
    return NameSource(columns=(part,), spell=_spell_value, needs_batch=True)


def _spell_label(_values: Sequence[Any], label: str | None) -> str:
    return label or NOT_RECORDED


def _spell_value(values: Sequence[Any], _label: str | None) -> str:
    (value,) = values
    if value is None or value == "":
        return NOT_RECORDED
    return f"{value:g}" if isinstance(value, float) else str(value)


def _spell_method(values: Sequence[Any], label: str | None) -> str:
    cutting_type = values[0]
    if not cutting_type and not label:
        return NOT_RECORDED
    return f"{cutting_type or TYPE_NOT_RECORDED}, {label or HORMONE_NOT_RECORDED}"


def _spell_source(values: Sequence[Any], label: str | None) -> str:
    return label or values[0] or NOT_RECORDED


TYPE_NOT_RECORDED: Final = f"cutting type {NOT_RECORDED}"
HORMONE_NOT_RECORDED: Final = f"hormone {NOT_RECORDED}"
