"""What is expected of an open batch, in words for the lists of what is due.

Only what was written down when the batch was last counted or the nursery last learned is read
here, so that a list of what is due never waits for arithmetic.
"""

from dataclasses import dataclass
from datetime import date
from math import floor
from typing import Final

from app.domain.outcomes import Standing
from app.stats.look_rules import BUDGET, LONGEST_GAP

WEEK: Final = 7
TOO_LONG: Final = "rooted ones are standing too long"
SOON_TOO_LONG: Final = "rooted ones will be standing too long"
FINISH: Final = "few more expected: time to finish?"


@dataclass(frozen=True, kw_only=True)
class KeptOutlook:
    """What is expected from the last count on (or from sticking), as it was written down.

    `new_by[d]` is how many are expected to have newly rooted d days after `from_on`, for the
    first days; `ever` how many still will. `leans_on` is how many finished batches of `genus`
    this rests on.
    """

    from_on: date
    new_by: tuple[float, ...]
    ever: float
    finish: bool
    leans_on: int
    genus: str

    def new_on(self, day: date) -> float:
        """Return how many are expected to have newly rooted by a day, unseen."""
        days = (day - self.from_on).days
        return self.new_by[min(max(days, 0), len(self.new_by) - 1)]

    def waited_on(self, day: date) -> float:
        """Return the days that these have stood rooted by then, summed over the cuttings.

        It is the area under `new_by`: what roots during a day has stood half of it.
        """
        days = max((day - self.from_on).days, 0)
        known = self.new_by[: days + 1]
        stood = sum(known) + (days + 1 - len(known)) * self.new_by[-1]
        return stood - (self.new_by[0] + self.new_on(day)) / 2.0

    def cost_on(self, day: date) -> float:
        """Return what waiting costs by then: days stood by rooted cuttings beyond the budget."""
        return self.waited_on(day) - BUDGET

    @property
    def basis(self) -> str:
        """What it rests on: "by 14 finished batches of Hebe"."""
        noun = "batch" if self.leans_on == 1 else "batches"
        return f"by {self.leans_on:,} finished {noun} of {self.genus}"


def expected_words(outlook: KeptOutlook, *, on: date, today: date, standing: Standing) -> str:
    """Return "about 20 more by now", or "about 4 in 10 rooted by now" before any count.

    `on` is the day spoken of; one to come is "then".
    """
    when = "by now" if on <= today else "by then"
    if standing.counted_on is None:
        return f"{_in_ten(outlook.new_on(on) / standing.stuck)} rooted {when}"
    return f"{_about(outlook.new_on(on))} more {when}"


def reason_words(outlook: KeptOutlook, *, on: date, today: date) -> str:
    """Return why a count is due on that day: rooted ones standing too long, or how long ago."""
    if outlook.finish:
        return FINISH
    if outlook.cost_on(on) < 0.0:
        return f"{LONGEST_GAP // WEEK} weeks without a count"
    days = floor(outlook.waited_on(on) / max(outlook.new_on(on), 1.0) + 0.5)
    words = TOO_LONG if on <= today else SOON_TOO_LONG
    return words if days < 1 else f"{words}, {_days(days)} on average"


def _in_ten(share: float) -> str:
    tenths = floor(10.0 * share + 0.5)
    if tenths < 1:
        return "hardly any"
    return "nearly all" if tenths > 9 else f"about {tenths} in 10"


def _about(number: float) -> str:
    """Return a number as one says it: to the nearest 1, 5 from ten on, 10 from a hundred on."""
    if number < 0.5:
        return "hardly any"
    step = 1 if number < 10 else 5 if number < 100 else 10
    return f"about {step * floor(number / step + 0.5):,}"


def _days(days: int) -> str:
    return "1 day" if days == 1 else f"{days} days"
