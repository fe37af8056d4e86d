"""The picture of differences in points: each a line with its range, worse left, better right."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from app.domain.comparisons_words import points_words
from app.web.rate_pictures import Box, Mark, RatePicture, Words

_WIDTH: Final = 340
_STEP: Final = 46
_EDGE: Final = 12
_THICK: Final = 10
_REACH: Final = 9
_BASELINE: Final = 18
_LETTERS: Final = 26
_STEPS: Final = (0.10, 0.20, 0.30, 0.50, 1.00)


@dataclass(frozen=True, kw_only=True)
class DifferenceLine:
    """One difference (-1 to 1) with its limits, None for one that has no range of its own."""

    label: str
    points: float
    low: float | None = None
    high: float | None = None


def difference_picture(lines: Sequence[DifferenceLine]) -> RatePicture | None:
    """Return the picture of the lines one below the other, or None where there are none."""
    if not lines:
        return None
    scale = _scale(lines)
    marks, words = [], []
    for place, line in enumerate(lines):
        top = place * _STEP
        words.append(Words(x=0, y=top + _BASELINE, text=_cut(line.label)))
        figure = f"{points_words(line.points)} points"
        words.append(Words(x=_WIDTH, y=top + _BASELINE, text=figure, anchor="end"))
        marks.append(_mark(line, middle=top + 34, scale=scale))
    bottom = len(lines) * _STEP
    ends = ((-scale, "start"), (0.0, "middle"), (scale, "end"))
    words += [
        Words(
            x=_across(value, scale), y=bottom + _BASELINE, text=points_words(value), anchor=anchor
        )
        for value, anchor in ends
    ]
    return RatePicture(width=_WIDTH, height=bottom + 26, marks=tuple(marks), words=tuple(words))


def _scale(lines: Sequence[DifferenceLine]) -> float:
    ends = [value for each in lines for value in (each.points, each.low, each.high) if value]
    reach = max((abs(value) for value in ends), default=0.0)
    return next((step for step in _STEPS if reach <= step), 1.0)


def _mark(line: DifferenceLine, *, middle: float, scale: float) -> Mark:
    ticks = "".join(f"M{_across(value, scale)} {middle - 4}v8" for value in (-scale, scale))
    zero = f"M{_across(0.0, scale)} {middle - 12}v24"
    box = None
    if line.low is not None and line.high is not None:
        low, high = _across(line.low, scale), _across(line.high, scale)
        box = Box(
            x=low,
            y=middle - _THICK / 2,
            width=round(high - low, 2),
            height=_THICK,
            bounds=False,
        )
    return Mark(
        axis=f"M{_across(-scale, scale)} {middle}H{_across(scale, scale)}{ticks}{zero}",
        box=box,
        point=f"M{_across(line.points, scale)} {middle - _REACH}v{2 * _REACH}",
        few=False,
    )


def _across(value: float, scale: float) -> float:
    return round(_EDGE + (value + scale) / (2.0 * scale) * (_WIDTH - 2 * _EDGE), 2)


def _cut(text: str) -> str:
    return text if len(text) <= _LETTERS else f"{text[: _LETTERS - 1].rstrip()}…"
