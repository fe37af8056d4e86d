"""The columns of a notebook sheet, and how a header that people typed is recognised."""

from collections.abc import Sequence
from typing import Final

from app.domain.sheet_headers import SheetHeader, recognise_columns

COLUMNS: Final = (
    "batch", "plant", "stock_plant", "taken_on", "stuck_on", "stuck", "cutting_type", "cut",
    "hormone", "hormone_form", "hormone_ppm", "mix", "container", "per_plug", "bench", "cover",
    "bottom_heat_c", "person", "checked_on", "checked_by", "kind", "rooted", "lost", "lost_cause",
    "unrooted_counted", "ending", "note",
)  # fmt: skip
"""All columns in the order they are written; on reading any order does."""

BATCH: Final = "batch"
REQUIRED_FIRST: Final = ("plant", "stuck_on", "stuck")
"""What the first line of each batch has to say beside the batch itself."""

CHECK_COLUMNS: Final = (
    "checked_on", "checked_by", "kind", "rooted", "lost", "lost_cause", "unrooted_counted",
    "ending",
)  # fmt: skip


def recognise_header(cells: Sequence[str]) -> SheetHeader:
    """Return where each column of a notebook stands.

    Raises:
        NotAccepted: as `recognise_columns`.
    """
    return recognise_columns(
        cells, columns=COLUMNS, required=(BATCH, *REQUIRED_FIRST), sheet="a notebook sheet"
    )
