"""The warnings that stand on pages while a re-entry time runs."""

from collections.abc import Iterable
from dataclasses import dataclass

from app.domain.treatments import is_running, reentry_words
from app.store.queries.treatments import KnownTreatment
from app.web.requests import now, nursery


@dataclass(frozen=True, kw_only=True)
class ReentryWarning:
    """A treatment after which nobody is to go back in yet: its code, and the sentence."""

    code: str
    sentence: str


def reentry_warnings(treatments: Iterable[KnownTreatment]) -> tuple[ReentryWarning, ...]:
    """Return a warning for each treatment whose re-entry time has not come."""
    return tuple(
        ReentryWarning(
            code=one.code,
            sentence=reentry_words(
                one.what, reentry_at=one.reentry_at, where=one.where, zone=nursery().zone
            ),
        )
        for one in treatments
        if one.reentry_at is not None and is_running(one.reentry_at, now=now())
    )
