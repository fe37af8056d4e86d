"""The geometry of the small pictures on pages: numbers in, places of shapes out.

Templates only write these down; nothing here knows a colour.
"""

from dataclasses import dataclass
from typing import Final

from app.domain.strike_rates_words import NO_DATA, percent, range_words

BAR_WIDTH: Final = 240
BAR_HEIGHT: Final = 24
_EDGE: Final = 1.5

RATE_WIDTH: Final = 140
RATE_HEIGHT: Final = 24
_MARGIN: Final = 8


@dataclass(frozen=True, kw_only=True)
class Piece:
    """One stretch of a bar; `fill` names the pattern it is drawn with, if any."""

    kind: str
    fill: str
    x: float
    width: float


@dataclass(frozen=True, kw_only=True)
class OutcomeBar:
    """A batch's cuttings as one bar and in words; a piece for each kind that has cuttings."""

    pieces: tuple[Piece, ...]
    words: str
    width: int = BAR_WIDTH
    height: int = BAR_HEIGHT
    inner_height: float = BAR_HEIGHT - _EDGE


@dataclass(frozen=True, kw_only=True)
class RateMark:
    """A rate and its interval on a line from 0 to 100 %, in the units of the view box."""

    rate: float
    low: float
    span: float
    has_rate: bool
    has_interval: bool
    words: str
    width: int = RATE_WIDTH
    height: int = RATE_HEIGHT
    left: int = _MARGIN
    half: int = RATE_WIDTH // 2
    right: int = RATE_WIDTH - _MARGIN
    middle: int = RATE_HEIGHT // 2
    tick_top: int = RATE_HEIGHT // 2 - 4
    tick_bottom: int = RATE_HEIGHT // 2 + 4
    bar_top: int = RATE_HEIGHT // 2 - 5
    bar_height: int = 10
    point_top: int = 2
    point_bottom: int = RATE_HEIGHT - 2


_FILLS: Final = {"unrooted": "hatch", "lost": "dots", "dumped": "dots"}


def outcome_pieces(
    *, rooted: int, unrooted: int, lost: int, stuck: int, dumped: int = 0, cleared: int = 0
) -> OutcomeBar:
    """Return the bar of a batch; widths share `BAR_WIDTH` in the proportion of the counts."""
    counts = (
        ("rooted", "rooted", rooted),
        ("unrooted", "unrooted", unrooted),
        ("cleared", "cleared unrooted", cleared),
        ("lost", "lost", lost),
        ("dumped", "dumped", dumped),
    )
    scale = (BAR_WIDTH - _EDGE) / max(stuck, 1)
    pieces, begun = [], 0
    for kind, _, number in counts:
        if number > 0:
            piece = Piece(
                kind=kind,
                fill=_FILLS.get(kind, ""),
                x=round(_EDGE / 2 + begun * scale, 2),
                width=round(number * scale, 2),
            )
            pieces.append(piece)
            begun += number
    said = [f"{number:,} {words}" for _, words, number in counts if number > 0]
    return OutcomeBar(pieces=tuple(pieces), words=", ".join(said) or "no cuttings")


def rate_places(*, share: float | None, low: float | None, high: float | None) -> RateMark:
    """Return where a rate and its interval stand; shares are 0 to 1 or None for no data."""
    has_interval = low is not None and high is not None
    start, end = (low or 0.0, high or 0.0) if has_interval else (0.0, 0.0)
    return RateMark(
        rate=_place(share or 0.0),
        low=_place(start),
        span=round(_place(end) - _place(start), 2),
        has_rate=share is not None,
        has_interval=has_interval,
        words=_rate_words(share, low, high),
    )


def _place(share: float) -> float:
    return round(_MARGIN + min(max(share, 0.0), 1.0) * (RATE_WIDTH - 2 * _MARGIN), 2)


def _rate_words(share: float | None, low: float | None, high: float | None) -> str:
    said = [] if share is None else [percent(share)]
    if low is not None and high is not None:
        said.append(range_words(low, high=high))
    return ", ".join(said) or NO_DATA
