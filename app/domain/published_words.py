"""Published rows in words: what was printed, and nothing that was not."""

from dataclasses import dataclass
from typing import Final

from app.domain.published_rates import PublishedRow
from app.domain.strike_rates_words import range_words
from app.stats.clusters import design_effect
from app.stats.intervals import wilson_interval

NO_INTERVAL: Final = "printed without counts, so no interval"
NO_SHARE: Final = "no percentage printed"
ABOUT_ROWS: Final = (
    "Each row is what one trial printed. It speaks for the plant it names and for no other of its "
    "genus. The month is that of the trial, not a season."
)
_BEFORE: Final = {">": "more than ", "<": "less than ", "~": "about "}


@dataclass(frozen=True, kw_only=True)
class PublishedLine:
    """One row for a page: the share rooted and how sure it is, days, and where it stands."""

    row: PublishedRow
    rooted: str
    interval: str
    days: str
    source: str


def published_line(row: PublishedRow, *, correlation: float) -> PublishedLine:
    """Return a row in words; `correlation` (0 to 1) is that of two cuttings of one batch.

    An interval only where the counts were printed; they are taken as one batch.
    """
    return PublishedLine(
        row=row,
        rooted=_rooted(row),
        interval=_interval(row, correlation=correlation),
        days=_days(row),
        source=", ".join(part for part in (row.source.citation, row.locator) if part),
    )


def _rooted(row: PublishedRow) -> str:
    if row.percent_low and row.percent_high and row.qualifier == "range":
        share = f"{row.percent_low} to {row.percent_high} %"
    else:
        number = row.percent or row.percent_low or row.percent_high
        share = f"{_BEFORE.get(row.qualifier, '')}{number} %" if number else NO_SHARE
    if row.has_counts:
        return f"{row.rooted} of {row.stuck}, {share}"
    return f"{share}, of {row.stuck} stuck" if row.stuck else share


def _interval(row: PublishedRow, *, correlation: float) -> str:
    if not row.has_counts:
        return NO_INTERVAL if _rooted(row) != NO_SHARE else ""
    stuck, rooted = int(row.stuck), int(row.rooted)
    size = stuck / design_effect(stuck, correlation=correlation)
    found = wilson_interval(rooted / stuck * size, size=size)
    return f"{range_words(found.low, high=found.high)}, taken as one batch" if found else ""


def _days(row: PublishedRow) -> str:
    if row.days:
        number = f"{row.days} days"
    elif row.days_low and row.days_high:
        number = f"{row.days_low} to {row.days_high} days"
    else:
        return ""
    return f"{number} ({row.days_basis})" if row.days_basis else number
