"""Clusters as they were looked at: what set in, what failed, and what still waits.

Ages are in days since the start. One record covers what was newly seen at one look.
"""

from dataclasses import dataclass

import numpy as np
from scipy.sparse import csr_matrix

from app.stats.share_grids import Floats
from app.stats.trees import Ints


@dataclass(frozen=True, kw_only=True)
class Histories:
    """All clusters' looks in flat arrays.

    Per look: `cluster` (0 to count - 1), `start` and `end` ages of the interval (a, b], `onsets`
    and `failures` newly seen. Per cluster: `size`, `waiting` items at age `waiting_age` (age of
    the last count), and `written_off` items given up as failed at `written_off_age`.
    """

    cluster: Ints
    start: Floats
    end: Floats
    onsets: Floats
    failures: Floats
    size: Floats
    waiting: Floats
    waiting_age: Floats
    written_off: Floats
    written_off_age: Floats

    @property
    def count(self) -> int:
        """The number of clusters."""
        return len(self.size)

    @property
    def settled(self) -> Floats:
        """True where nothing waits: the outcome of every item is known."""
        return np.asarray(self.waiting == 0)

    def total(self, per_look: Floats) -> Floats:
        """Return the sum of a per-look figure for each cluster."""
        return np.bincount(self.cluster, weights=per_look, minlength=self.count).astype(float)

    def spread(self, per_look: Floats) -> csr_matrix:
        """Return the matrix (clusters, looks) that sums looks, each weighted by a figure."""
        looks = np.arange(len(self.cluster))
        return csr_matrix((per_look, (self.cluster, looks)), shape=(self.count, len(looks)))

    def chosen(self, which: Ints) -> "Histories":
        """Return the clusters at these places, renumbered from 0 in that order."""
        place = np.full(self.count, -1)
        place[which] = np.arange(len(which))
        kept = place[self.cluster] >= 0
        return Histories(
            cluster=place[self.cluster][kept],
            start=self.start[kept],
            end=self.end[kept],
            onsets=self.onsets[kept],
            failures=self.failures[kept],
            size=self.size[which],
            waiting=self.waiting[which],
            waiting_age=self.waiting_age[which],
            written_off=self.written_off[which],
            written_off_age=self.written_off_age[which],
        )
