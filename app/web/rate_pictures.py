"""The picture of an answer about strike rates: shares in, places of shapes out.

Each group is a line from 0 to 100 %, with its range as a box and its rate as a stroke across it.
A group by one name lies down, with its label above; a group by two names stands upright in its
row and column, so that a row reads as a strip. Templates only write the places down.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from app.domain.strike_rates import Basis, RateSquare
from app.domain.strike_rates_answers import RateGroup
from app.domain.strike_rates_words import NO_DATA, percent, range_words

_LYING_WIDTH: Final = 340
_LYING_STEP: Final = 46
_LYING_LETTERS: Final = 40  # of label and figure together, on one line
_EDGE: Final = 10
_THICK: Final = 10
_REACH: Final = 9  # how far the stroke of the rate stands out from its line, on each side

_STRIP_TOP: Final = 26
_STRIP_STEP: Final = 80
_STRIP_HEIGHT: Final = 48
_STRIP_LEFT: Final = 132
_STRIP_LETTERS: Final = 15
_NARROW: Final = 58
_WIDE: Final = 112
_WIDE_LETTERS: Final = 13
_SHORT: Final = 7
_BASELINE: Final = 18


@dataclass(frozen=True, kw_only=True)
class Words:
    """A piece of text at a place; `anchor` is start, middle or end."""

    x: float
    y: float
    text: str
    anchor: str = "start"


@dataclass(frozen=True, kw_only=True)
class Box:
    """The range of a group; bounds are hatched, since they are no interval."""

    x: float
    y: float
    width: float
    height: float
    bounds: bool


@dataclass(frozen=True, kw_only=True)
class Mark:
    """One group: its line with ticks and the stroke of its rate as paths, its range as a box."""

    axis: str
    box: Box | None
    point: str
    few: bool


@dataclass(frozen=True, kw_only=True)
class RatePicture:
    """All shapes of a picture in the units of its own size, which is its size in pixels."""

    width: int
    height: int
    marks: tuple[Mark, ...]
    words: tuple[Words, ...]


def lying_picture(groups: Sequence[RateGroup], *, labels: Sequence[str]) -> RatePicture:
    """Return the picture of groups one below the other, each with its label and figure above."""
    marks, words = [], []
    for place, (group, label) in enumerate(zip(groups, labels, strict=True)):
        top = place * _LYING_STEP
        figure = _figure(group.square)
        text = _cut(label, _LYING_LETTERS - len(figure))
        words.append(Words(x=0, y=top + _BASELINE, text=text))
        words.append(Words(x=_LYING_WIDTH, y=top + _BASELINE, text=figure, anchor="end"))
        marks.append(_lying(group.square, middle=top + 34))
    bottom = len(groups) * _LYING_STEP
    anchors = zip((0.0, 0.5, 1.0), ("start", "middle", "end"), strict=True)
    words += [
        Words(x=_across(share), y=bottom + _BASELINE, text=percent(share), anchor=anchor)
        for share, anchor in anchors
    ]
    return RatePicture(
        width=_LYING_WIDTH, height=bottom + 26, marks=tuple(marks), words=tuple(words)
    )


def strip_picture(
    grid: Sequence[Sequence[RateGroup | None]], *, rows: Sequence[str], columns: Sequence[str]
) -> RatePicture:
    """Return the picture of a strip of upright marks per row, one in each column."""
    narrow = all(len(column) <= _SHORT for column in columns)
    step, letters = (_NARROW, _SHORT) if narrow else (_WIDE, _WIDE_LETTERS)
    centres = [_STRIP_LEFT + place * step + step / 2 for place in range(len(columns))]
    words = [
        Words(x=x, y=_BASELINE, text=_cut(column, letters), anchor="middle")
        for x, column in zip(centres, columns, strict=True)
    ]
    marks = []
    for place, (row, squares) in enumerate(zip(rows, grid, strict=True)):
        top = _STRIP_TOP + place * _STRIP_STEP
        words.append(Words(x=0, y=top + _STRIP_HEIGHT / 2 + 5, text=_cut(row, _STRIP_LETTERS)))
        for x, group in zip(centres, squares, strict=True):
            text = _short_figure(group.square) if group else "–"
            y = top + _STRIP_HEIGHT + _BASELINE
            words.append(Words(x=x, y=y, text=text, anchor="middle"))
            if group:
                marks.append(_upright(group.square, x=x, top=top))
    return RatePicture(
        width=_STRIP_LEFT + step * len(columns),
        height=_STRIP_TOP + _STRIP_STEP * len(rows),
        marks=tuple(marks),
        words=tuple(words),
    )


def _lying(square: RateSquare, *, middle: float) -> Mark:
    ends = _ends(square)
    ticks = "".join(f"M{_across(share)} {middle - 4}v8" for share in (0.0, 0.5, 1.0))
    box = None
    if ends:
        low, high = map(_across, ends)
        box = Box(
            x=low,
            y=middle - _THICK / 2,
            width=round(high - low, 2),
            height=_THICK,
            bounds=square.basis is Basis.BOUNDS,
        )
    share = square.estimate_share
    return Mark(
        axis=f"M{_across(0)} {middle}H{_across(1)}{ticks}",
        box=box,
        point="" if share is None else f"M{_across(share)} {middle - _REACH}v{2 * _REACH}",
        few=square.few,
    )


def _upright(square: RateSquare, *, x: float, top: float) -> Mark:
    ends = _ends(square)
    ticks = "".join(f"M{x - 4} {_down(share, top)}h8" for share in (0.0, 0.5, 1.0))
    box = None
    if ends:
        low, high = (_down(share, top) for share in ends)
        box = Box(
            x=x - _THICK / 2,
            y=high,
            width=_THICK,
            height=round(low - high, 2),
            bounds=square.basis is Basis.BOUNDS,
        )
    share = square.estimate_share
    return Mark(
        axis=f"M{x} {_down(0, top)}V{_down(1, top)}{ticks}",
        box=box,
        point="" if share is None else f"M{x - _REACH} {_down(share, top)}h{2 * _REACH}",
        few=square.few,
    )


def _ends(square: RateSquare) -> tuple[float, float] | None:
    low, high = square.estimate_low_share, square.estimate_high_share
    return None if low is None or high is None else (low, high)


def _across(share: float) -> float:
    return round(_EDGE + share * (_LYING_WIDTH - 2 * _EDGE), 2)


def _down(share: float, top: float) -> float:
    return round(top + (1.0 - share) * _STRIP_HEIGHT, 2)


def _figure(square: RateSquare) -> str:
    if square.estimate_share is not None:
        return percent(square.estimate_share)
    ends = _ends(square)
    return range_words(ends[0], high=ends[1]) if ends else NO_DATA


def _short_figure(square: RateSquare) -> str:
    return _figure(square).removesuffix(" %").replace(" to ", "–")


def _cut(text: str, letters: int) -> str:
    return text if len(text) <= letters else f"{text[: letters - 1].rstrip()}…"
