"""What the page of a batch says of how it will end.

numpy is loaded only for an open batch of a nursery that has learned something.
"""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from app.domain.batch_rates import batch_counts_sentence, batch_rate_sentences
from app.domain.cutting_types import is_cutting
from app.domain.fit_records import BatchToForecast, type_code
from app.domain.outcomes import CheckCounts
from app.store.queries.batches import BatchStory
from app.store.queries.fits import find_fit
from app.web.requests import db

if TYPE_CHECKING:
    from app.domain.batch_forecasts import BatchForecast


def find_forecast(batch: BatchStory, checks: Sequence[CheckCounts]) -> "BatchForecast | None":
    """Return how an open batch is expected to end, None where nothing is known of that.

    Its own counts are joined in as they are now; what others taught is as it was last learned, so
    that the page takes no longer the more batches there are. Of cuttings stuck a second time,
    of divisions and of grafts earlier batches of cuttings say nothing.
    """
    if not batch.is_open or batch.restuck_from or not is_cutting(batch.entry.cutting_type):
        return None
    stored = find_fit(db())
    if stored is None:
        return None
    from app.domain.batch_forecasts import batch_forecast  # noqa: PLC0415 - loads numpy

    entry = batch.entry
    asked = BatchToForecast(
        batch_id=batch.id,
        genus=batch.genus_id,
        cutting_type=type_code(entry.cutting_type or ""),
        stuck_on=entry.stuck_on,
        stuck=entry.stuck,
    )
    return batch_forecast(stored.fit, batch=asked, checks=checks, standing=batch.standing)


def rate_sentences(batch: BatchStory, forecast: "BatchForecast | None") -> tuple[str, ...]:
    """Return what the batch says of its strike rate, the expected one first where there is one."""
    stuck_on = batch.entry.stuck_on
    if forecast is None:
        return batch_rate_sentences(batch.standing, stuck_on=stuck_on)
    from app.domain.batch_forecasts import forecast_sentences  # noqa: PLC0415 - loaded already

    strike, *rest = forecast_sentences(forecast, genus=batch.genus)
    return (strike, batch_counts_sentence(batch.standing, stuck_on=stuck_on), *rest)
