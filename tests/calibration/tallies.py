"""Counting how estimates and their limits do against a known truth."""

import numpy as np

from app.stats.share_grids import Floats, ShareGrid


class Tally:
    """Estimates with limits beside the truth, gathered one or many at a time."""

    def __init__(self) -> None:
        self._rows: list[Floats] = []
        self._asked = 0

    def add(self, estimate: object, low: object, high: object, truth: object) -> None:
        """Take estimates, both limits and truths: numbers or arrays of one length."""
        rows = np.stack(
            [np.atleast_1d(np.asarray(x, dtype=float)) for x in (estimate, low, high, truth)]
        )
        self._rows.append(rows)
        self._asked += rows.shape[1]

    def add_nothing(self) -> None:
        """Count a question that could not be answered."""
        self._asked += 1

    def join(self, other: "Tally") -> None:
        """Take all that another one has gathered."""
        self._rows.extend(other._rows)
        self._asked += other._asked

    @property
    def count(self) -> int:
        """The number of answers."""
        return int(sum(rows.shape[1] for rows in self._rows))

    @property
    def answered(self) -> float:
        """The share of questions that had an answer."""
        return self.count / self._asked if self._asked else float("nan")

    @property
    def bias(self) -> float:
        """The mean of estimate less truth."""
        return float(self._gaps.mean()) if self.count else float("nan")

    @property
    def rmse(self) -> float:
        """The root of the mean squared gap."""
        return float(np.sqrt((self._gaps**2).mean())) if self.count else float("nan")

    @property
    def coverage(self) -> float:
        """The share of answers whose limits hold the truth."""
        if not self.count:
            return float("nan")
        _, low, high, truth = self._all
        return float(((low <= truth) & (truth <= high)).mean())

    @property
    def width(self) -> float:
        """The mean distance of the limits."""
        if not self.count:
            return float("nan")
        _, low, high, _ = self._all
        return float((high - low).mean())

    @property
    def _all(self) -> Floats:
        return np.concatenate(self._rows, axis=1)

    @property
    def _gaps(self) -> Floats:
        estimate, _, _, truth = self._all
        return np.asarray(estimate - truth)


def read_off(masses: Floats, *, grid: ShareGrid) -> tuple[Floats, Floats, Floats]:
    """Return the median, 2.5 % and 97.5 % limits of rows of bin masses."""
    middle, low, high = grid.quantiles(masses, (0.5, 0.025, 0.975)).T
    return middle, low, high
