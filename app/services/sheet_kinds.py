"""Every kind of record sheet there is, and which one a header means."""

from collections.abc import Mapping, Sequence
from typing import Final

from app.domain.notebook_columns import BATCH, COLUMNS, REQUIRED_FIRST
from app.domain.sheet_headers import heading_key
from app.services.batch_sheets import BATCH_SHEET
from app.services.check_plan_sheets import CHECK_PLAN_SHEET
from app.services.dispatch_sheets import DISPATCH_SHEET
from app.services.import_stages import NOTEBOOK
from app.services.liner_stage_sheets import LINER_STAGE_SHEET
from app.services.list_sheets import CAUSE_SHEET, HORMONE_SHEET
from app.services.method_card_sheets import METHOD_CARD_SHEET
from app.services.mix_sheets import MIX_LOT_SHEET, RECIPE_SHEET
from app.services.order_sheets import ORDER_SHEET
from app.services.place_sheets import BENCH_SHEET, CONTAINER_SHEET
from app.services.plant_name_sheets import GENUS_SHEET, PLANT_NAME_SHEET
from app.services.record_sheets import SheetKind
from app.services.stock_plant_day_sheets import STOCK_PLANT_DAY_SHEET
from app.services.stock_plant_sheets import STOCK_PLANT_SHEET
from app.services.treatment_sheets import TREATMENT_SHEET

SHEET_KINDS: Final[Mapping[str, SheetKind]] = {
    kind.name: kind
    for kind in (
        BATCH_SHEET,
        STOCK_PLANT_SHEET,
        PLANT_NAME_SHEET,
        GENUS_SHEET,
        BENCH_SHEET,
        CONTAINER_SHEET,
        HORMONE_SHEET,
        RECIPE_SHEET,
        MIX_LOT_SHEET,
        CAUSE_SHEET,
        CHECK_PLAN_SHEET,
        ORDER_SHEET,
        TREATMENT_SHEET,
        STOCK_PLANT_DAY_SHEET,
        LINER_STAGE_SHEET,
        DISPATCH_SHEET,
        METHOD_CARD_SHEET,
    )
}
IMPORT_KINDS: Final = (NOTEBOOK, *SHEET_KINDS)
"""What `import --kind` knows."""


def kind_of_header(cells: Sequence[str]) -> str:
    """Return the kind whose columns a header names most of, and whose own column it has.

    A header that fits none is taken for a notebook's, which says what is missing.
    """
    headings = {heading_key(cell) for cell in cells} - {""}
    best, most = NOTEBOOK, _fitting(headings, columns=COLUMNS, required=(BATCH, *REQUIRED_FIRST))
    for kind in SHEET_KINDS.values():
        names = [column.name for column in kind.columns]
        fitting = _fitting(headings, columns=names, required=kind.required)
        if fitting > most:
            best, most = kind.name, fitting
    return best


def _fitting(headings: set[str], *, columns: Sequence[str], required: Sequence[str]) -> int:
    """Return how many headings are among the columns; 0 where a required one is missing."""
    if not {heading_key(column) for column in required} <= headings:
        return 0
    return len(headings & {heading_key(column) for column in columns})
