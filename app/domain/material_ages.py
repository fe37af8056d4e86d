"""How long material may lie between taking and sticking before it is worth a word."""

from collections.abc import Iterator, Mapping
from typing import Final

from app.domain.batches import BatchEntry
from app.domain.cutting_types import CuttingType
from app.domain.standings import COMMON_PRACTICE, Advisory

_DAY: Final = 24
_WEEK: Final = 7 * _DAY
# All of the following: common practice, no source.
LONGEST_HOURS: Final[Mapping[CuttingType, int]] = {
    CuttingType.SOFTWOOD: _DAY,
    CuttingType.GREENWOOD: _DAY,
    CuttingType.SEMI_RIPE: 3 * _DAY,
    CuttingType.RIPEWOOD: _WEEK,
    CuttingType.HARDWOOD: 12 * _WEEK,
    CuttingType.LEAF_BUD: _DAY,
    CuttingType.LEAF: 2 * _DAY,
    CuttingType.SCALE: 8 * _WEEK,
    CuttingType.ROOT: _WEEK,
    CuttingType.DIVISION: _DAY,
    CuttingType.GRAFT: 8 * _WEEK,
}
_LASTING: Final = frozenset({CuttingType.HARDWOOD, CuttingType.SCALE, CuttingType.GRAFT})


def age_advisories(entry: BatchEntry) -> Iterator[Advisory]:
    """Yield that the material was kept too long for its type; nothing where that is not known."""
    longest = LONGEST_HOURS.get(entry.cutting_type) if entry.cutting_type else None
    kept = _kept_hours(entry)
    if longest is None or kept is None or kept <= longest:
        return
    why = "later it has used up its stores" if entry.cutting_type in _LASTING else "later it wilts"
    sentence = (
        f"Kept {_time_words(kept)}: {entry.cutting_type} is usually stuck within "
        f"{_time_words(longest)}, {why}."
    )
    field = "stored_hours" if entry.stored_hours is not None else "taken_on"
    yield Advisory(field=field, sentence=sentence, standing=COMMON_PRACTICE)


def _kept_hours(entry: BatchEntry) -> float | None:
    """Return the hours in store, or those between the two days; None where neither is said."""
    if entry.stored_hours is not None:
        return entry.stored_hours
    if entry.taken_on is None:
        return None
    return float((entry.stuck_on - entry.taken_on).days * _DAY)


def _time_words(hours: float) -> str:
    if hours <= 2 * _DAY:
        return f"{hours:g} hours"
    if hours < 2 * _WEEK:
        return f"{hours / _DAY:.3g} days"
    return f"{hours / _WEEK:.3g} weeks"
