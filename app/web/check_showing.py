"""What a check found, in the words of its batch's way, with its plantlets."""

from app.domain.check_words import found_words
from app.domain.cutting_types import CuttingType
from app.domain.way_words import told_for
from app.store.queries.checks import StoredCheck


def found_in_words(check: StoredCheck, *, cutting_type: CuttingType | None) -> str:
    """Return what a check found in a sentence."""
    said = told_for(found_words(check.counts), cutting_type=cutting_type)
    return said if check.plantlets is None else f"{said}, {check.plantlets:,} plantlets"
