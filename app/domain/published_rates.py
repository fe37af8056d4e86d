"""Published shares rooted, for a genus of which the nursery has no batch yet.

A published share is one grower's result on one day: it says where to begin, not what will be.
"""

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from statistics import fmean
from typing import Final

from app.domain.starting_cards import starting_sources

FILE: Final = "published_rooting.csv"
_NAMED: Final = 3


@dataclass(frozen=True, kw_only=True)
class PublishedResult:
    """One published result: `share` of the cuttings rooted, 0 to 1."""

    genus: str
    plant: str
    share: float
    source_id: str


@dataclass(frozen=True, kw_only=True)
class PublishedRate:
    """The mean of the published results that come closest, with their spread and sources."""

    share: float
    low_share: float
    high_share: float
    results: int
    sources: tuple[str, ...]

    @property
    def citation(self) -> str:
        """The sources by author and year, at most three of them."""
        named = "; ".join(self.sources[:_NAMED])
        more = len(self.sources) - _NAMED
        return f"{named} and {more} more" if more > 0 else named


def find_published_rate(*, genus: str, species: str) -> PublishedRate | None:
    """Return what was published of the species, or else of the genus; None where nothing was."""
    of_genus = [result for result in _results() if result.genus == genus]
    of_species = [result for result in of_genus if species and species in result.plant.split()]
    found = of_species or of_genus
    if not found:
        return None
    sources = starting_sources()
    shares = [result.share for result in found]
    return PublishedRate(
        share=fmean(shares),
        low_share=min(shares),
        high_share=max(shares),
        results=len(found),
        sources=tuple(dict.fromkeys(sources[result.source_id].short for result in found)),
    )


@cache
def _results() -> tuple[PublishedResult, ...]:
    return tuple(_read())


def _read() -> Iterator[PublishedResult]:
    text = (files("app.domain") / "data" / FILE).read_text(encoding="utf-8")
    lines = (line for line in text.splitlines(keepends=True) if not line.startswith("#"))
    for row in csv.DictReader(lines):
        yield PublishedResult(
            genus=row["genus"],
            plant=row["species_or_cultivar"],
            share=float(row["percent_rooted"]) / 100.0,
            source_id=row["source_id"],
        )
