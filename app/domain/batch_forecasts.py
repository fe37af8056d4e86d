"""How an open batch is expected to end, from its own counts and from what earlier ones taught."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

import numpy as np

from app.domain.due_outlooks import FINISH
from app.domain.fit_records import BatchToForecast
from app.domain.nursery_fits import NurseryFit
from app.domain.outcomes import CheckCounts, Standing
from app.domain.outlooks import known_of_batch, times_are_known
from app.domain.strike_rates_words import batches, bounds_words, percent, range_words
from app.stats.next_looks import Outlook, outlook, rest_masses

DRAWN_SHARE: Final = 0.9
LONGEST_DRAWN: Final = 60
_LEVELS: Final = (0.025, 0.975)


@dataclass(frozen=True, kw_only=True)
class RootedBy:
    """How many are expected to be rooted by a day, those already found included."""

    day: date
    number: float


@dataclass(frozen=True, kw_only=True)
class BatchForecast:
    """What share of the cuttings stuck will have rooted in the end; every share is 0 to 1.

    `low_share` and `high_share` hold it with 95 %, `worst_share` and `best_share` for certain.
    It leans on `of_genus` finished batches of its genus and `of_nursery` of any. Where it is
    known how fast the genus roots, `ahead` goes from the last count until most have rooted,
    `ever` is how many more will, and `finish` says that hardly anything more is expected.
    """

    share: float
    low_share: float
    high_share: float
    worst_share: float
    best_share: float
    of_genus: int
    of_nursery: int
    ahead: tuple[RootedBy, ...] = ()
    ever: float = 0.0
    finish: bool = False


def batch_forecast(
    fit: NurseryFit,
    *,
    batch: BatchToForecast,
    checks: Sequence[CheckCounts],
    standing: Standing,
) -> BatchForecast | None:
    """Return how the batch is expected to end; None where that is not known.

    It is not where too few batches are finished, and there is nothing to expect where nothing is
    unrooted any more.
    """
    if standing.unrooted == 0 or not fit.may_forecast:
        return None
    known = known_of_batch(fit, batch=batch, checks=checks, standing=standing)
    masses = rest_masses(known)
    more = np.arange(len(masses))
    low, high = (int(np.searchsorted(np.cumsum(masses), level)) for level in _LEVELS)
    found = outlook(known) if times_are_known(fit, genus=batch.genus) else None
    return BatchForecast(
        share=(standing.rooted + float(masses @ more)) / standing.stuck,
        low_share=(standing.rooted + low) / standing.stuck,
        high_share=(standing.rooted + min(high, standing.unrooted)) / standing.stuck,
        worst_share=standing.rooted / standing.stuck,
        best_share=(standing.rooted + standing.unrooted) / standing.stuck,
        of_genus=fit.finished_by_genus.get(batch.genus, 0),
        of_nursery=fit.finished,
        ahead=_ahead(found, batch, standing) if found else (),
        ever=found.ever if found else 0.0,
        finish=found.time_to_finish() if found else False,
    )


def forecast_sentences(forecast: BatchForecast, *, genus: str) -> tuple[str, ...]:
    """Return the expected strike, what it leans on, and what is still to come, in words."""
    bounds = bounds_words(forecast.worst_share, high=forecast.best_share)
    strike = (
        f"Expected strike {percent(forecast.share)}"
        f" ({range_words(forecast.low_share, high=forecast.high_share)});"
        f" {bounds}."
    )
    return tuple(s for s in (strike, _leaning(forecast, genus), _to_come(forecast)) if s)


def _leaning(forecast: BatchForecast, genus: str) -> str:
    if forecast.of_genus:
        return f"Leans on {_earlier(forecast.of_genus)} of {genus}."
    return (
        f"Leans on {_earlier(forecast.of_nursery)} of the whole nursery: none of {genus} is"
        " finished yet."
    )


def _earlier(number: int) -> str:
    return batches(number).replace(" ", " earlier ")


def _to_come(forecast: BatchForecast) -> str:
    if not forecast.ahead:
        return ""
    if forecast.finish:
        return FINISH.capitalize()
    return f"About {max(1, round(forecast.ever)):,} more are expected to root."


def _ahead(found: Outlook, batch: BatchToForecast, standing: Standing) -> tuple[RootedBy, ...]:
    from_on = standing.counted_on or batch.stuck_on
    most = np.flatnonzero(found.new_by >= DRAWN_SHARE * found.ever)
    days = min(int(most[0]) if len(most) else LONGEST_DRAWN, LONGEST_DRAWN)
    return tuple(
        RootedBy(day=from_on + timedelta(days=day), number=standing.rooted + float(number))
        for day, number in enumerate(found.new_by[: days + 1])
    )
