"""What the pages of a method card show beside its values: what was found here, what was printed."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from app.domain.method_card_words import (
    LISTS,
    CardChange,
    CardLine,
    card_changes,
    card_lines,
    card_sources,
)
from app.domain.published_rates import published_rows
from app.domain.published_words import PublishedLine, published_line
from app.domain.strike_rates import ASSUMED_CORRELATION
from app.domain.strike_rates_keys import RateKey, value_words
from app.domain.strike_rates_words import batches, cuttings, estimate_words
from app.store.queries.method_cards import KnownCard
from app.web.learning import learned_fit
from app.web.rate_addresses import address, behind_address, pairs_of
from app.web.requests import db, nursery

if TYPE_CHECKING:
    from app.domain.nursery_fits import NurseryFit
    from app.store.queries.card_findings import Finding, FoundBy

NO_DAYS: Final = "none finished yet"
_CAPTIONS: Final[Mapping[RateKey, str]] = {
    RateKey.MONTH: "By month",
    RateKey.HORMONE: "By treatment",
}


@dataclass(frozen=True, kw_only=True)
class ShownVersion:
    """A version with its lines, the works it rests on, and what it says otherwise than before."""

    card: KnownCard
    lines: tuple[CardLine, ...]
    lists: Mapping[str, str]
    sources: tuple[str, ...]
    changes: tuple[CardChange, ...] = ()


@dataclass(frozen=True, kw_only=True)
class FoundLine:
    """One month or treatment in words; `href` opens its batches."""

    label: str
    rate: str
    size: str
    days: str
    href: str


@dataclass(frozen=True, kw_only=True)
class FoundTable:
    """What was found by one name."""

    caption: str
    head: str
    lines: tuple[FoundLine, ...]


@dataclass(frozen=True, kw_only=True)
class CardFindings:
    """What this nursery found and what was published for exactly the plants of a card.

    `asked` is the address of the same question among the strike rates, "" where nothing is found.
    """

    tables: tuple[FoundTable, ...]
    asked: str
    published: tuple[PublishedLine, ...]


def shown_version(card: KnownCard, *, before: KnownCard | None = None) -> ShownVersion:
    """Return a version as it is shown; `before` is the one it followed."""
    lines = _lines(card)
    lists = {group: card.standings.get(group, "") for group in LISTS if getattr(card.values, group)}
    changes: tuple[CardChange, ...] = ()
    if before is not None:
        changes = card_changes(
            _lines(before),
            after=lines,
            values_before=before.values,
            values_after=card.values,
        )
    return ShownVersion(
        card=card,
        lines=lines,
        lists=lists,
        sources=card_sources(lines, lists=lists),
        changes=changes,
    )


def card_findings(card: KnownCard) -> CardFindings:
    """Return what is known of a card's plants beside what the card says."""
    fit = learned_fit()
    correlation = fit.correlation if fit else ASSUMED_CORRELATION
    rows = published_rows(genus=card.genus, species=card.species, plant=card.plant_name)
    found = _found(card, fit=fit) if fit else ()
    return CardFindings(
        tables=tuple(_table(each) for each in found),
        asked=_asked(found),
        published=tuple(published_line(row, correlation=correlation) for row in rows),
    )


def _found(card: KnownCard, *, fit: "NurseryFit") -> "tuple[FoundBy, ...]":
    from app.store.queries.card_findings import find_card_findings  # noqa: PLC0415 - loads numpy

    return find_card_findings(db(), card=card, fit=fit)


def _asked(found: "tuple[FoundBy, ...]") -> str:
    if not found:
        return ""
    question = replace(found[0].answer.question, by=(RateKey.MONTH, RateKey.HORMONE))
    return address("strike_rates.show", pairs_of(question))


def _table(found: "FoundBy") -> FoundTable:
    question = found.answer.question
    key = question.by[0]
    return FoundTable(
        caption=_CAPTIONS[key],
        head="Month" if key is RateKey.MONTH else "Hormone",
        lines=tuple(
            FoundLine(
                label=value_words(each.group.values[0], key=key),
                rate=estimate_words(each.group.square),
                size=f"{batches(each.group.facts.every.batches)}, "
                f"{cuttings(each.group.facts.every.stuck)}",
                days=_days(each),
                href=behind_address(each.group, question=question),
            )
            for each in found.findings
        ),
    )


def _days(found: "Finding") -> str:
    from app.domain.rooting_words import day_range  # noqa: PLC0415 - loads numpy

    if found.half is None:
        return NO_DAYS
    return f"{day_range(found.half)}, {batches(found.timed)}"


def _lines(card: KnownCard) -> tuple[CardLine, ...]:
    return card_lines(
        card.values,
        cutting_type=card.cutting_type,
        standings=card.standings,
        hemisphere=nursery().hemisphere,
    )
