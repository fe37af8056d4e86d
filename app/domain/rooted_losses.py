"""What share of rooted cuttings became ready here: the nursery's own figure, once it is enough."""

from dataclasses import dataclass
from typing import Final

LEAST_OF_GENUS: Final = 6
LEAST_OF_NURSERY: Final = 12
LEAST_SHARE: Final = 0.05


@dataclass(frozen=True, kw_only=True)
class RootedSums:
    """Of batches with nothing growing on any more: how many there are, ready ones, lost ones."""

    batches: int = 0
    ready: int = 0
    lost: int = 0

    @property
    def share(self) -> float:
        """Ready of those that became either, never below LEAST_SHARE, as plans need some."""
        settled = self.ready + self.lost
        return max(LEAST_SHARE, self.ready / settled) if settled else 1.0


@dataclass(frozen=True, kw_only=True)
class OwnReady:
    """The share of rooted ones that became ready, 0.05 to 1, and in words what it rests on."""

    share: float
    standing: str


def own_ready(*, genus: str, of_genus: RootedSums, of_nursery: RootedSums) -> OwnReady | None:
    """Return the genus's own share, else the nursery's, None where there are too few batches.

    How many are enough is an assumption without a source.
    """
    if of_genus.batches >= LEAST_OF_GENUS:
        standing = f"from {of_genus.batches:,} batches of {genus} here"
        return OwnReady(share=of_genus.share, standing=standing)
    if of_nursery.batches >= LEAST_OF_NURSERY:
        standing = f"from {of_nursery.batches:,} batches of this nursery, whatever the genus"
        return OwnReady(share=of_nursery.share, standing=standing)
    return None
