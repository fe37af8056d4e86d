"""One batch as the story goes on: what was counted of it so far, against what really happened."""

from datetime import date
from random import Random
from typing import Final

from app.domain.outcomes import Ending, Loss
from seed_demo.calendar import Planned
from seed_demo.entries import Found

DAYS_PER_WEEK: Final = 7
# When the rest of a batch is given up: at this many times its usual weeks, counted from sticking.
GIVEN_UP_AT: Final = 1.9
# Benches are cleared early of slow plants only, and where it is worth it.
_CLEARED_SHARE: Final = 0.16
_CLEARED_FROM_WEEKS: Final = 6
_CLEARED_FROM: Final = 12
_SAMPLED_FROM_WEEKS: Final = 8
_SAMPLED_AT: Final = 0.6


class TellingBatch:
    """A batch that is being told: its plan, its row, and the counts so far."""

    def __init__(self, planned: Planned, *, batch_id: int, dice: Random) -> None:
        self.planned = planned
        self.batch_id = batch_id
        self.dice = dice
        self.next_count_on: date | None = None
        self.open = True
        self.counts = 0
        self.rooted = 0
        self.lost: dict[str, int] = {}
        self.sampled = False

    @property
    def left(self) -> int:
        """How many are unrooted by the counts so far."""
        return self.planned.stuck - self.rooted - sum(self.lost.values())

    def age(self, day: date) -> int:
        """Return the age in days."""
        return (day - self.planned.stuck_on).days

    def find(self, day: date) -> Found:
        """Return what a full count finds today that was not counted before."""
        age = self.age(day)
        room = self.left
        rooted = min(room, max(0, self.planned.fate.rooted_by(age) - self.rooted))
        room -= rooted
        lost = []
        for cause, number in sorted(self.planned.fate.lost_by(age).items()):
            new = min(room, max(0, number - self.lost.get(cause, 0)))
            room -= new
            if new:
                lost.append(Loss(cause=cause, number=new))
        return Found(rooted=rooted, lost=tuple(lost), left=room, rooted_so_far=self.rooted + rooted)

    def keep(self, found: Found, *, missing: int = 0) -> None:
        """Remember what was counted."""
        self.counts += 1
        self.rooted += found.rooted
        for loss in found.lost:
            self.lost[loss.cause] = self.lost.get(loss.cause, 0) + loss.number
        if missing:
            self.lost["missing"] = self.lost.get("missing", 0) + missing

    def ending(self, day: date, found: Found) -> Ending:
        """Return how the rest goes with this count, if it is given up."""
        habit = self.planned.habit
        lined_out = habit.container == "Lined out"
        old = self.age(day) >= habit.weeks * DAYS_PER_WEEK * GIVEN_UP_AT
        if found.left == 0 or not (old or lined_out):
            return Ending.NONE
        worth_it = habit.weeks >= _CLEARED_FROM_WEEKS and found.left >= _CLEARED_FROM
        cleared = worth_it and self.dice.random() < _CLEARED_SHARE
        return Ending.CLEARED_UNROOTED if cleared else Ending.DUMPED

    def wants_sample(self, day: date) -> bool:
        """Return whether somebody pulls ten out to look, halfway to the first count."""
        habit = self.planned.habit
        due = self.age(day) >= habit.weeks * DAYS_PER_WEEK * _SAMPLED_AT
        if habit.weeks < _SAMPLED_FROM_WEEKS or self.sampled or self.counts or not due:
            return False
        self.sampled = True
        return habit.container != "Lined out" and self.dice.random() < 0.5
