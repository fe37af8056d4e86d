"""The method cards that the program brings along, with the sources of their values.

A value named in `sourced_fields` of a row comes from the row's source; every other one is common
practice with no source. Facts and figures only. Where the table says nothing, the card says what
is usual for its cutting type.
"""

import csv
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Final

from app.domain.card_fillings import filled_from_guide, guide_for
from app.domain.card_months import parse_months
from app.domain.cutting_types import Cut, CuttingType, Section
from app.domain.method_cards import GROUPS, TYPE, CardEntry, CardValues, group_says
from app.domain.standings import COMMON_PRACTICE

# What the table calls the groups of a card.
_SOURCED: Final[Mapping[str, str]] = {
    "type": TYPE,
    "months": "months",
    "hormone": "hormone",
    "weeks": "weeks",
    "cover": "cover",
    "heat": "bottom_heat",
}
_COVERS: Final[Mapping[str, str]] = {"yes": "covered", "no": "none", "": ""}
_MARK: Final = re.compile(r"[A-Z][A-Za-z]*(?:-[A-Za-z0-9]+)+")


@dataclass(frozen=True, kw_only=True)
class Source:
    """A work read for these values; blank is unknown."""

    author: str
    year: str
    title: str
    publisher: str

    @property
    def citation(self) -> str:
        """Author, year, title and where it appeared, as far as they are known."""
        known = (self.author, self.year, self.title, self.publisher)
        return ", ".join(part for part in known if part)

    @property
    def short(self) -> str:
        """Author, or else the title, and the year."""
        named = self.author or f'"{self.title}"'
        return f"{named}, {self.year}" if self.year else named


@dataclass(frozen=True, kw_only=True)
class StartingCard:
    """A card with the standing of each group of its values."""

    entry: CardEntry
    standings: Mapping[str, str]


@cache
def starting_cards() -> tuple[StartingCard, ...]:
    """Return the cards, months of the northern half."""
    sources = starting_sources()
    return tuple(_card(row, sources=sources) for row in _rows("genus_methods.csv"))


@cache
def starting_sources() -> Mapping[str, Source]:
    """Return the sources by the mark the table uses for them."""
    return {
        row["source_id"]: Source(
            author=row["author"],
            year=row["year"],
            title=_plain(row["title"]),
            publisher=row["publisher"],
        )
        for row in _rows("rooting_sources.csv")
    }


def _rows(name: str) -> Iterator[dict[str, str]]:
    text = (files("app.domain") / "data" / name).read_text(encoding="utf-8")
    lines = (line for line in text.splitlines(keepends=True) if not line.startswith("#"))
    return csv.DictReader(lines)


def _card(row: Mapping[str, str], *, sources: Mapping[str, Source]) -> StartingCard:
    cutting_type = CuttingType(row["cutting_type"])
    said = _values(row, sources=sources)
    guide = guide_for(said, cutting_type=cutting_type)
    entry = CardEntry(
        genus=row["genus"],
        species=row["species"],
        cutting_type=cutting_type,
        values=filled_from_guide(said, guide=guide),
    )
    named = {_SOURCED[name] for name in row["sourced_fields"].split("+") if name}
    source = sources[row["source_id"]].citation if row["source_id"] else COMMON_PRACTICE
    says = [TYPE, *(group for group in GROUPS if group_says(entry.values, group=group))]
    standings = {
        group: source if group in named else guide.standings.get(group, COMMON_PRACTICE)
        for group in says
    }
    return StartingCard(entry=entry, standings=standings)


def _values(row: Mapping[str, str], *, sources: Mapping[str, Source]) -> CardValues:
    ppm_low, ppm_high = _whole(row["hormone_ppm_low"]), _whole(row["hormone_ppm_high"])
    undipped = row["hormone_substance"] == "none"
    return CardValues(
        months=parse_months(row["months"]),
        cut=Cut(row["cut"]) if row["cut"] else None,
        section=Section(row["section"]) if row["section"] else None,
        hormone_substance=row["hormone_substance"],
        hormone_form=row["hormone_form"],
        hormone_ppm_low=None if undipped else ppm_low,
        hormone_ppm_high=None if undipped else ppm_high,
        weeks_low=_number(row["weeks_low"]),
        weeks_high=_number(row["weeks_high"]),
        cover=_COVERS[row["cover_or_mist"]],
        bottom_heat_c_low=_number(row["bottom_heat_c_low"]),
        bottom_heat_c_high=_number(row["bottom_heat_c_high"]),
        notes=_cited(row["note"], sources=sources),
    )


def _plain(title: str) -> str:
    """Return a title without the brackets round one that only describes the work."""
    return title[1:-1] if title.startswith("(") and title.endswith(")") else title


def _cited(note: str, *, sources: Mapping[str, Source]) -> str:
    """Return a note with the marks of sources put into words."""
    return _MARK.sub(
        lambda mark: sources[mark.group()].short if mark.group() in sources else mark.group(), note
    )


def _whole(text: str) -> int | None:
    return int(text) if text else None


def _number(text: str) -> float | None:
    return float(text) if text else None
