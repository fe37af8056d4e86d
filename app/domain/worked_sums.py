"""A sum that was worked out for somebody: one sentence, the figures behind it, what to mind."""

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from app.domain.standings import Advisory


@dataclass(frozen=True, kw_only=True)
class WorkedSum:
    """The answer in a sentence, (name, figure) lines below it, and advisories beside it."""

    sentence: str
    lines: tuple[tuple[str, str], ...] = ()
    advisories: tuple[Advisory, ...] = ()


def figure(value: float, *, unit: str = "", places: int = 1) -> str:
    """Return a number to at most `places` decimals with its unit, halves rounded away from zero.

    Trailing zeros are left out: "62.5 ml", "1,500 g".
    """
    rounded = Decimal(repr(value)).quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_UP)
    text = f"{rounded:,f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return f"{text} {unit}".rstrip()
