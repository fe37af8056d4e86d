"""Batches as comparisons take them: parallel arrays, and what is known of each one's outcome."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from app.domain.nursery_fits import GRID, NurseryFit
from app.stats.settled_equivalents import SettledCounts, settled_equivalents
from app.stats.share_grids import Bools, Floats
from app.stats.trees import Ints

MOST_UNKNOWN: Final = 0.3


@dataclass(frozen=True, kw_only=True)
class LoggedBatches:
    """One entry per batch; `genus`, `hormone` and `person` are ids, 0 for not recorded.

    `cutting_type` is the fit's number of the type, `month` 1 to 12 of sticking. `unknown` counts
    the cuttings without an outcome: unrooted or cleared unrooted.
    """

    batch_ids: Ints
    genus: Ints
    cutting_type: Ints
    hormone: Ints
    month: Ints
    person: Ints
    stuck: Ints
    rooted: Ints
    unknown: Ints

    @property
    def count(self) -> int:
        """The number of batches."""
        return len(self.batch_ids)

    def chosen(self, which: Bools) -> "LoggedBatches":
        """Return the batches where `which` is true, in the same order."""
        return LoggedBatches(
            batch_ids=self.batch_ids[which],
            genus=self.genus[which],
            cutting_type=self.cutting_type[which],
            hormone=self.hormone[which],
            month=self.month[which],
            person=self.person[which],
            stuck=self.stuck[which],
            rooted=self.rooted[which],
            unknown=self.unknown[which],
        )


@dataclass(frozen=True, kw_only=True)
class Outcomes:
    """What is known of each batch: its share rooted (0 to 1), and how many cuttings that is worth.

    `usable` is true where a batch can be compared: it is finished, or so little of it is unknown
    (`nearly` then) that its likelihood stands for counts. Elsewhere share and size are 0.
    """

    shares: Floats = field(repr=False)
    sizes: Floats = field(repr=False)
    usable: Bools = field(repr=False)
    nearly: Bools = field(repr=False)

    def chosen(self, which: Bools) -> "Outcomes":
        """Return the outcomes where `which` is true, in the same order."""
        return Outcomes(
            shares=self.shares[which],
            sizes=self.sizes[which],
            usable=self.usable[which],
            nearly=self.nearly[which],
        )

    def weights(self, *, correlation: float) -> Floats:
        """Return the effective cuttings of each batch, n / (1 + (n - 1) correlation)."""
        return np.asarray(self.sizes / (1.0 + np.maximum(self.sizes - 1.0, 0.0) * correlation))


def known_outcomes(batches: LoggedBatches, *, fit: NurseryFit | None) -> Outcomes:
    """Return what is known of each batch.

    A finished batch stands with its counts. One of which less than three cuttings in ten are
    unknown stands with the counts its likelihood is worth, the unknown ones at their usual odds,
    where enough batches are finished to know these; every other one is left out.
    """
    finished = batches.unknown == 0
    sizes = np.where(finished, batches.stuck, 0).astype(np.float64)
    shares = np.where(finished, batches.rooted / batches.stuck, 0.0)
    nearly = np.zeros(batches.count, dtype=bool)
    if fit is not None and fit.may_forecast:
        few = ~finished & (batches.unknown < MOST_UNKNOWN * batches.stuck)
        places = {int(number): place for place, number in enumerate(fit.open_batches.batch_ids)}
        rows = np.array(
            [places.get(int(number), -1) for number in batches.batch_ids], dtype=np.int64
        )
        nearly = few & (rows >= 0)
        worth = settled_equivalents(fit.open_batches.share_logs[rows[nearly]], grid=GRID)
        mine = batches.chosen(nearly)
        sizes[nearly], shares[nearly] = _within_counts(worth, mine)
    return Outcomes(shares=shares, sizes=sizes, usable=sizes > 0.0, nearly=nearly)


def _within_counts(worth: SettledCounts, batches: LoggedBatches) -> tuple[Floats, Floats]:
    """Return sizes and shares held to what the counts themselves allow."""
    sizes = np.minimum(worth.sizes, batches.stuck)
    shares = worth.successes / np.maximum(worth.sizes, 1e-9)
    lowest = batches.rooted / batches.stuck
    highest = (batches.rooted + batches.unknown) / batches.stuck
    return sizes, np.clip(shares, lowest, highest)


@dataclass(frozen=True, kw_only=True)
class ComparisonRecords:
    """The batches of some levels of a factor, and what the numbers in them stand for.

    `members[k]` is true for the batches of level k, shape (levels, batches); a batch taken from
    two stock plants may be of two levels.
    """

    batches: LoggedBatches
    members: Bools = field(repr=False)
    genera: Mapping[int, str]
    people: Mapping[int, str]
    hormones: Mapping[int, str]

    def of_either(self, one: int, other: int) -> Bools:
        """Return which batches are of one of the two levels and not of both."""
        return np.asarray(self.members[one] ^ self.members[other])
