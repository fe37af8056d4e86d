"""Numbers of cuttings as people type them: bare, or in trays and gaps."""

import re
from dataclasses import dataclass
from typing import Final

from app.domain.problems import NotAccepted

MOST_CUTTINGS: Final = 1_000_000

_EXAMPLE: Final = 'Give a number, such as "96", or trays and gaps, such as "7 trays of 84 less 12".'
_NUMBER: Final = r"[0-9]{1,3}(?:[, ][0-9]{3})+|[0-9]+"
_HOLDER: Final = r"(?:seed|plug|module|cell)?\s*(?:trays?|pots?|modules?|boxe?s?|packs?|bundles?)"
_BARE: Final = re.compile(rf"(?P<number>{_NUMBER})(?:\s*cuttings?)?")
_TRAYS: Final = re.compile(
    rf"(?P<trays>{_NUMBER})\s*"
    rf"(?:(?:(?:{_HOLDER})\s*(?:of|x|×|\*|@|with)|x|×|\*|of)\s*(?P<per_tray>{_NUMBER})|{_HOLDER})"
    rf"(?:\s*,?\s*(?P<sign>less|minus|without|-|−|–|plus|and|\+)\s*(?P<odd>{_NUMBER})"
    rf"(?:\s*(?:gaps?|cuttings?|empty|more))?|\s*,\s*(?P<gaps>{_NUMBER})\s*gaps?)?"
)
_ADDING: Final = frozenset({"plus", "and", "+"})


@dataclass(frozen=True, kw_only=True)
class Quantity:
    """A number of cuttings and, where it was given so, the trays it stands in.

    `gaps` are empty plugs: number = trays * per_tray - gaps. `trays` and `per_tray` are None
    for a bare number, and `gaps` is 0 then.
    """

    number: int
    trays: int | None = None
    per_tray: int | None = None
    gaps: int = 0

    @property
    def label(self) -> str:
        """The quantity in words, such as "576 (7 trays of 84 less 12)"."""
        if self.trays is None:
            return f"{self.number:,}"
        noun = "tray" if self.trays == 1 else "trays"
        less = f" less {self.gaps:,}" if self.gaps else ""
        return f"{self.number:,} ({self.trays:,} {noun} of {self.per_tray:,}{less})"


def parse_quantity(
    text: str,
    *,
    field: str,
    least: int = 0,
    most: int = MOST_CUTTINGS,
    per_tray: int | None = None,
) -> Quantity:
    """Return the number typed as "96", "1,020", "7 trays of 84 less 12" or "7 x 84 - 12".

    "7 trays of 84 and 30" is an eighth tray with 30 in it. `least` and `most` bound the number.
    Where the tray is known, `per_tray` are its plugs, and "7 trays less 12" is enough.

    Raises:
        NotAccepted: nothing, a fraction or no number was typed, the gaps exceed the places, or
            the number is out of bounds.
    """
    line = " ".join(text.split()).lower()
    if not line:
        raise NotAccepted.at(field, _EXAMPLE)
    quantity = _read(line, field=field, per_tray=per_tray)
    if quantity.number < least:
        raise NotAccepted.at(field, f"Give at least {least:,}.")
    if quantity.number > most:
        raise NotAccepted.at(field, f"{quantity.number:,} is too many: give at most {most:,}.")
    return quantity


def parse_optional_quantity(
    text: str, *, field: str, least: int = 0, most: int = MOST_CUTTINGS
) -> Quantity | None:
    """Return None for a blank, otherwise what `parse_quantity` returns.

    Raises:
        NotAccepted: as `parse_quantity`.
    """
    return parse_quantity(text, field=field, least=least, most=most) if text.strip() else None


def _read(line: str, *, field: str, per_tray: int | None) -> Quantity:
    if bare := _BARE.fullmatch(line):
        return Quantity(number=_whole(bare["number"]))
    if trays := _TRAYS.fullmatch(line):
        return _in_trays(trays, field=field, known=per_tray)
    raise NotAccepted.at(field, _refusal(line))


def _refusal(line: str) -> str:
    if re.fullmatch(r"[-−–]\s*[0-9].*", line):
        return "A number of cuttings cannot be below zero."
    if re.fullmatch(r"[0-9]+[.,][0-9]+", line):
        digits = re.sub(r"[.,]", "", line)
        return f'Give a whole number: type "{digits}" if that is meant, without point or comma.'
    return _EXAMPLE


def _in_trays(typed: re.Match[str], *, field: str, known: int | None) -> Quantity:
    if typed["per_tray"] is None and known is None:
        sentence = (
            'Say how many plugs a tray has, such as "7 trays of 84", or choose the container.'
        )
        raise NotAccepted.at(field, sentence)
    trays = _whole(typed["trays"])
    per_tray = known or 0 if typed["per_tray"] is None else _whole(typed["per_tray"])
    if trays == 0 or per_tray == 0:
        raise NotAccepted.at(field, "Give at least one tray with at least one plug.")
    odd = _whole(typed["odd"] or typed["gaps"] or "0")
    if typed["sign"] in _ADDING:
        if odd >= per_tray:
            sentence = f"A part tray holds fewer than {per_tray:,}: count it as a tray of its own."
            raise NotAccepted.at(field, sentence)
        trays, odd = (trays + 1, per_tray - odd) if odd else (trays, 0)
    places = trays * per_tray
    if odd > places:
        sentence = f"{odd:,} gaps are more than the {places:,} plugs: check trays and gaps."
        raise NotAccepted.at(field, sentence)
    return Quantity(number=places - odd, trays=trays, per_tray=per_tray, gaps=odd)


def _whole(digits: str) -> int:
    return int(re.sub(r"[, ]", "", digits))
