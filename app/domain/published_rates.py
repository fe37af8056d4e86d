"""Published shares rooted: beside what the nursery found, and where it has found nothing yet.

A published share is one grower's result on one day: it says where to begin, not what will be.
"""

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from statistics import fmean
from typing import Final

from app.domain.starting_cards import Source, starting_sources

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
class PublishedRow:
    """One row of the table, every text as the table has it, "" for a blank.

    `plant` is the species or cultivar as printed, `when` the month or season of that one trial.
    `source` is the work, `locator` the place in it. `days` and `percent` are as printed, with
    `qualifier` (=, >, <, ~ or range) before them.
    """

    genus: str
    plant: str
    cutting_type: str
    when: str
    medium: str
    treatment: str
    duration: str
    stuck: str
    rooted: str
    percent: str
    percent_low: str
    percent_high: str
    qualifier: str
    days: str
    days_low: str
    days_high: str
    days_basis: str
    locator: str
    note: str
    source: Source

    @property
    def has_counts(self) -> bool:
        """Whether the trial's own counts were printed, so that an interval can be given."""
        return bool(self.stuck and self.rooted)


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


def published_rows(*, genus: str, species: str = "", plant: str = "") -> tuple[PublishedRow, ...]:
    """Return the rows of a genus; of one species, or one plant name, only those that name it.

    A row of another species is never shown for one, nor a row without a species.
    """
    return tuple(
        row for row in _rows() if _is_about(row, genus=genus, species=species, plant=plant)
    )


def _is_about(row: PublishedRow, *, genus: str, species: str, plant: str) -> bool:
    if not species and not plant:
        return row.genus == genus
    if row.genus != genus:
        # A row under an older name of the genus says the other one beside it.
        return not plant and bool(species) and f"{genus} {species}" in row.plant
    if species != _species_of(row.plant, genus=genus):
        return False
    cultivar = plant[plant.index("'") :] if "'" in plant else plant
    return not plant or cultivar in row.plant


def _species_of(printed: str, *, genus: str) -> str:
    """Return the species epithet of "I. crenata 'Helleri'", "" where it names none or two."""
    words = [word for word in printed.split() if word != "x"]
    short = f"{genus[0]}."
    named = len(words) > 1 and words[0] in {short, genus}
    if not named or words.count(short) > 1:
        return ""
    return words[1] if words[1].islower() else ""


@cache
def _results() -> tuple[PublishedResult, ...]:
    return tuple(
        PublishedResult(
            genus=row["genus"],
            plant=row["species_or_cultivar"],
            share=float(row["percent_rooted"]) / 100.0,
            source_id=row["source_id"],
        )
        for row in _read()
        if row["percent_rooted"]
    )


@cache
def _rows() -> tuple[PublishedRow, ...]:
    sources = starting_sources()
    return tuple(
        PublishedRow(
            genus=row["genus"],
            plant=row["species_or_cultivar"],
            cutting_type=row["cutting_type"],
            when=row["month_or_season"],
            medium=row["medium"],
            treatment=row["treatment"],
            duration=row["duration"],
            stuck=row["n_stuck"],
            rooted=row["n_rooted"],
            percent=row["percent_rooted"],
            percent_low=row["percent_low"],
            percent_high=row["percent_high"],
            qualifier=row["qualifier"],
            days=row["days_to_root"],
            days_low=row["days_low"],
            days_high=row["days_high"],
            days_basis=row["days_basis"],
            locator=row["locator"],
            note=row["note"],
            source=sources[row["source_id"]],
        )
        for row in _read()
    )


def _read() -> Iterator[dict[str, str]]:
    text = (files("app.domain") / "data" / FILE).read_text(encoding="utf-8")
    lines = (line for line in text.splitlines(keepends=True) if not line.startswith("#"))
    return csv.DictReader(lines)
