"""Taking data out: rows of each kind of export, read a chunk at a time, each its own short read."""

from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager
from enum import StrEnum
from typing import Any, Final, TypeAlias

from sqlalchemy.orm import Session

from app.domain.notebook_columns import COLUMNS
from app.domain.notebook_rows import notebook_rows
from app.store.queries.document_exports import (
    HOLDS,
    PASSPORTS,
    PHOTOGRAPHS,
    PRACTICALS,
    SEASON_LINES,
    SIGN_OFFS,
)
from app.store.queries.exports import (
    BATCHES,
    CHECKS,
    MIXES,
    STOCK_PLANTS,
    ExportTable,
    read_export_chunk,
)
from app.store.queries.happening_exports import STOCK_PLANT_DAYS
from app.store.queries.liner_exports import DISPATCHES, LINER_STAGES
from app.store.queries.method_card_exports import METHOD_CARDS
from app.store.queries.notebooks import next_batch_ids, read_kept_batches
from app.store.queries.record_exports import (
    BENCHES,
    CHECK_PLANS,
    CONTAINERS,
    GENERA,
    HORMONES,
    LOST_CAUSES,
    MIX_LOTS,
    ORDERS,
    PLANT_NAMES,
    RECIPES,
)
from app.store.queries.treatment_exports import TREATMENTS

Reading: TypeAlias = Callable[[], AbstractContextManager[Session]]
Row: TypeAlias = Sequence[Any]


class ExportKind(StrEnum):
    """What can be taken out as a sheet."""

    BATCHES = "batches"
    CHECKS = "checks"
    STOCK_PLANTS = "stock-plants"
    MIXES = "mixes"
    PLANT_NAMES = "plant-names"
    GENERA = "genera"
    BENCHES = "benches"
    CONTAINERS = "containers"
    HORMONES = "hormones"
    LOST_CAUSES = "lost-causes"
    RECIPES = "recipes"
    MIX_LOTS = "mix-lots"
    ORDERS = "orders"
    CHECK_PLANS = "check-plans"
    TREATMENTS = "treatments"
    STOCK_PLANT_DAYS = "stock-plant-days"
    LINER_STAGES = "liner-stages"
    DISPATCHES = "dispatches"
    METHOD_CARDS = "method-cards"
    HOLDS = "holds"
    PASSPORTS = "plant-passports"
    PRACTICALS = "practicals"
    SEASON_LINES = "season-lines"
    PHOTOGRAPHS = "photographs"
    SIGN_OFFS = "sign-offs"
    NOTEBOOK = "notebook"


EXPORT_WORDS: Final = {
    ExportKind.BATCHES: "one line for each batch with everything recorded of it",
    ExportKind.CHECKS: "one line for each check with its counts",
    ExportKind.STOCK_PLANTS: "one line for each stock plant",
    ExportKind.MIXES: "one line for each ingredient of each version",
    ExportKind.PLANT_NAMES: "one line for each plant name with what stands beside it",
    ExportKind.GENERA: "one line for each genus with its family and cautions",
    ExportKind.BENCHES: "one line for each bench, bed and frame",
    ExportKind.CONTAINERS: "one line for each container",
    ExportKind.HORMONES: "one line for each hormone as it is used",
    ExportKind.LOST_CAUSES: "one line for each cause of loss",
    ExportKind.RECIPES: "one line for each mix as it is made now",
    ExportKind.MIX_LOTS: "one line for each mix lot with what was measured",
    ExportKind.ORDERS: "one line for each order",
    ExportKind.CHECK_PLANS: "one line for each check plan that is set",
    ExportKind.TREATMENTS: "one line for each treatment with where it was made",
    ExportKind.STOCK_PLANT_DAYS: "one line for each day something happened to a stock plant",
    ExportKind.LINER_STAGES: "one line for each stage of rooted cuttings and liner lots",
    ExportKind.DISPATCHES: "one line for each dispatch with what was sent to whom",
    ExportKind.METHOD_CARDS: "one line for each method card as it holds now",
    ExportKind.HOLDS: "one line for each stock plant or batch that a hold holds",
    ExportKind.PASSPORTS: "one line for each plant passport as it was issued",
    ExportKind.PRACTICALS: "one line for each practical session with its people and batches",
    ExportKind.SEASON_LINES: "one line for each week of an order on the season's board",
    ExportKind.PHOTOGRAPHS: "one line for each photograph, without the picture",
    ExportKind.SIGN_OFFS: "one line for each technique signed off for somebody",
    ExportKind.NOTEBOOK: "batches and checks as a notebook sheet, which can be read in again",
}
_TABLES: Final = {
    ExportKind.BATCHES: BATCHES,
    ExportKind.CHECKS: CHECKS,
    ExportKind.STOCK_PLANTS: STOCK_PLANTS,
    ExportKind.MIXES: MIXES,
    ExportKind.PLANT_NAMES: PLANT_NAMES,
    ExportKind.GENERA: GENERA,
    ExportKind.BENCHES: BENCHES,
    ExportKind.CONTAINERS: CONTAINERS,
    ExportKind.HORMONES: HORMONES,
    ExportKind.LOST_CAUSES: LOST_CAUSES,
    ExportKind.RECIPES: RECIPES,
    ExportKind.MIX_LOTS: MIX_LOTS,
    ExportKind.ORDERS: ORDERS,
    ExportKind.CHECK_PLANS: CHECK_PLANS,
    ExportKind.TREATMENTS: TREATMENTS,
    ExportKind.STOCK_PLANT_DAYS: STOCK_PLANT_DAYS,
    ExportKind.LINER_STAGES: LINER_STAGES,
    ExportKind.DISPATCHES: DISPATCHES,
    ExportKind.METHOD_CARDS: METHOD_CARDS,
    ExportKind.HOLDS: HOLDS,
    ExportKind.PASSPORTS: PASSPORTS,
    ExportKind.PRACTICALS: PRACTICALS,
    ExportKind.SEASON_LINES: SEASON_LINES,
    ExportKind.PHOTOGRAPHS: PHOTOGRAPHS,
    ExportKind.SIGN_OFFS: SIGN_OFFS,
}


def export_rows(reading: Reading, *, kind: ExportKind) -> Iterator[Row]:
    """Yield the header and then every row; `reading` gives a short read whenever it is called."""
    if kind is ExportKind.NOTEBOOK:
        yield from _notebook(reading)
    else:
        yield from _table(reading, table=_TABLES[kind])


def _table(reading: Reading, *, table: ExportTable) -> Iterator[Row]:
    yield table.names
    following: int | None = 0
    while following is not None:
        with reading() as session:
            chunk = read_export_chunk(session, table=table, after=following)
        yield from chunk.rows
        following = chunk.following


def _notebook(reading: Reading) -> Iterator[Row]:
    yield COLUMNS
    last_id: int | None = 0
    while last_id is not None:
        with reading() as session:
            ids = next_batch_ids(session, after=last_id)
            batches = read_kept_batches(session, batch_ids=ids)
        for batch in batches:
            yield from notebook_rows(batch)
        last_id = ids[-1] if ids else None
