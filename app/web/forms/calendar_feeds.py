"""The form of a new calendar address."""

from collections.abc import Sequence
from typing import Final

from wtforms import SelectChoice, SelectField

from app.domain.calendar_feeds import FeedScope
from app.domain.problems import NotAccepted
from app.store.queries.benches import KnownBench
from app.web.forms.base import PostForm

_BENCH: Final = "bench "


class CalendarFeedForm(PostForm):
    """Which checks the calendar tells of."""

    scope = SelectField("Checks due", validate_choice=False)

    def offer(self, benches: Sequence[KnownBench]) -> None:
        """Give the list its choices."""
        self.scope.choices = [
            SelectChoice(FeedScope.ALL.value, "on all benches"),
            SelectChoice(FeedScope.OWN.value, "of the batches I stuck"),
            *(SelectChoice(f"{_BENCH}{bench.id}", f"on {bench.name}") for bench in benches),
        ]

    def chosen(self) -> tuple[FeedScope, int | None]:
        """Return what was chosen.

        Raises:
            NotAccepted: nothing of the list.
        """
        value = self.scope.data or ""
        if value not in {choice.value for choice in self.scope.choices or ()}:
            raise NotAccepted.at("scope", "Choose one from the list.")
        if value.startswith(_BENCH):
            return FeedScope.BENCH, int(value.removeprefix(_BENCH))
        return FeedScope(value), None
