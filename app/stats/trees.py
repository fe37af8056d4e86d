"""Exact inference on a tree of hidden values: one pass up, one pass down (sum-product).

Each node holds a value on a common grid; a child scatters round its parent by a kernel. Data sit
on the leaves as log-likelihoods. Source: the sum-product algorithm for trees, J. Pearl (1988),
Probabilistic Reasoning in Intelligent Systems, chapter 4 (from memory).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_matrix

from app.stats.share_grids import Floats

Ints = NDArray[np.int64]


@dataclass(frozen=True, kw_only=True)
class Join:
    """How the nodes of one level hang on the next one up.

    `parents[c]` is the parent of child c (0 to `count` - 1); `weights[c]` says how many alike
    children row c stands for.
    """

    parents: Ints
    count: int
    weights: Floats

    def gather(self, messages: Floats) -> Floats:
        """Return the sum of the children's log messages for each parent, shape (count, bins)."""
        return np.asarray(self._sums @ messages)

    @cached_property
    def _sums(self) -> csr_matrix:
        # A search gathers over the same join hundreds of times.
        children = np.arange(len(self.parents))
        shape = (self.count, len(self.parents))
        return csr_matrix((self.weights, (self.parents, children)), shape=shape)


def plain_join(parents: Ints, *, count: int) -> Join:
    """Return a join in which every row is one child."""
    return Join(parents=parents, count=count, weights=np.ones(len(parents)))


def message_up(log_likelihoods: Floats, *, kernel: Floats) -> Floats:
    """Return log sum_j K[i, j] exp(S[c, j]) for each child c and parent's value i."""
    top = log_likelihoods.max(axis=1, keepdims=True)
    return np.asarray(np.log(np.exp(log_likelihoods - top) @ kernel.T) + top)


def climb(bottom: Floats, *, joins: Sequence[Join], kernels: Sequence[Floats]) -> "Climb":
    """Send the log-likelihoods of the lowest nodes, shape (nodes, bins), up to the root.

    `joins[0]` and `kernels[0]` lead from the lowest nodes to the level above, and so on; the
    last join has one parent, the root. Without joins the one lowest node is the root.
    """
    sums = [bottom]
    messages = []
    for join, kernel in zip(joins, kernels, strict=True):
        messages.append(message_up(sums[-1], kernel=kernel))
        sums.append(join.gather(messages[-1]))
    return Climb(sums=tuple(sums), messages=tuple(messages))


@dataclass(frozen=True, kw_only=True)
class Climb:
    """What came up: per level the summed log-likelihoods, and the message of each child."""

    sums: tuple[Floats, ...]
    messages: tuple[Floats, ...]

    def log_marginal(self, log_prior: Floats) -> float:
        """Return the log of the data's marginal likelihood under the root's prior masses."""
        return _log_sum(self.sums[-1][0] + log_prior)


def descend(
    climb: Climb, *, joins: Sequence[Join], kernels: Sequence[Floats], log_prior: Floats
) -> tuple[Floats, ...]:
    """Return the posterior masses of every node, one array per level from the lowest up.

    Rows sum to 1. A node without data holds what its parent predicts for it.
    """
    root = normalised(climb.sums[-1] + log_prior)
    posteriors = [root]
    for level in range(len(joins) - 1, -1, -1):
        above = posteriors[0][joins[level].parents]
        from_above = cavity(above, messages=climb.messages[level])
        log_child = np.log(from_above @ kernels[level]) + climb.sums[level]
        posteriors.insert(0, normalised(log_child))
    return tuple(posteriors)


def cavity(parents: Floats, *, messages: Floats) -> Floats:
    """Return each child's parent posterior without the child's own message; rows sum to 1."""
    return normalised(np.log(np.maximum(parents, 1e-300)) - messages)


def _log_sum(values: Floats) -> float:
    top = float(values.max())
    return top + float(np.log(np.exp(values - top).sum()))


def normalised(log_masses: Floats) -> Floats:
    """Return rows of masses that sum to 1 from rows of log masses."""
    masses = np.exp(log_masses - log_masses.max(axis=1, keepdims=True))
    return np.asarray(masses / masses.sum(axis=1, keepdims=True))
