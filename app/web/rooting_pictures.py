"""The picture of a time to root: the learned curve with its range, and the bare counts behind.

Numbers in, places out; the template writes them down and nothing here knows a colour.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from app.domain.rooting_times import RootingCurve
from app.stats.step_estimates import StepEstimate

WIDTH: Final = 480
HEIGHT: Final = 250
LEFT: Final = 58
RIGHT: Final = 466
TOP: Final = 12
FLOOR: Final = 204
_MOST_TICKS: Final = 9
_TICK_DAYS: Final = (7, 14, 28, 56, 112)
_LONGEST: Final = 1.6  # the bare counts may reach so many times as far as the curve
_THINNEST: Final = 1.5


@dataclass(frozen=True, kw_only=True)
class RootingBox:
    """Where the counts alone put some of the rooted ones: between two looks, nobody knows where."""

    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True, kw_only=True)
class RootingWord:
    """A number on an axis; `anchor` says how it hangs on its place."""

    x: float
    y: float
    text: str
    anchor: str = "middle"


@dataclass(frozen=True, kw_only=True)
class RootingPicture:
    """The whole picture: paths of the curve, its band and the axes, boxes, and words."""

    curve: str
    band: str
    axis: str
    boxes: tuple[RootingBox, ...]
    words: tuple[RootingWord, ...]
    width: int = WIDTH
    height: int = HEIGHT


def rooting_picture(curve: RootingCurve, *, steps: StepEstimate) -> RootingPicture:
    """Return the picture; days since sticking go to the right, the share rooted up."""
    last = _last_day(curve, steps)
    days = [0.0, *curve.days.tolist()]
    low, middle, high = (
        [_place(day, share, last=last) for day, share in zip(days, [0.0, *shares], strict=True)]
        for shares in (
            curve.low_shares.tolist(), curve.shares.tolist(), curve.high_shares.tolist()
        )
    )  # fmt: skip
    ticks = _ticks(last)
    return RootingPicture(
        curve=_path(middle),
        band=_path([*high, *reversed(low)]) + "Z",
        axis=_axis(ticks, last=last),
        boxes=tuple(_boxes(steps, last=last)),
        words=tuple(_words(ticks, last=last)),
    )


def _last_day(curve: RootingCurve, steps: StepEstimate) -> float:
    learned = float(curve.days[-1])
    seen = max((float(end) for end in steps.ends if end < float("inf")), default=0.0)
    return max(learned, min(seen, _LONGEST * learned), float(_TICK_DAYS[0]))


def _place(day: float, share: float, *, last: float) -> tuple[float, float]:
    across = LEFT + (RIGHT - LEFT) * min(day, last) / last
    return round(across, 1), round(FLOOR - (FLOOR - TOP) * share, 1)


def _path(places: Sequence[tuple[float, float]]) -> str:
    return "M" + "L".join(f"{x:g} {y:g}" for x, y in places)


def _ticks(last: float) -> range:
    step = next((days for days in _TICK_DAYS if last / days <= _MOST_TICKS), _TICK_DAYS[-1])
    return range(0, int(last) + 1, step)


def _axis(ticks: Iterable[int], *, last: float) -> str:
    lines = f"M{LEFT} {TOP}V{FLOOR}H{RIGHT}"
    half = _place(0.0, 0.5, last=last)[1]
    lines += f"M{LEFT - 5} {TOP}H{LEFT}M{LEFT - 5} {half:g}H{LEFT}"
    return lines + "".join(
        f"M{_place(float(day), 0.0, last=last)[0]:g} {FLOOR}V{FLOOR + 5}" for day in ticks
    )


def _boxes(steps: StepEstimate, *, last: float) -> Iterator[RootingBox]:
    before = 0.0
    for start, end, mass in zip(
        steps.starts.tolist(), steps.ends.tolist(), steps.masses.tolist(), strict=True
    ):
        after = before + mass
        if start < last:
            left, bottom = _place(start, before, last=last)
            right, top = _place(end, after, last=last)
            yield RootingBox(
                x=left,
                y=top,
                width=max(round(right - left, 1), _THINNEST),
                height=max(round(bottom - top, 1), _THINNEST),
            )
        before = after


def _words(ticks: range, *, last: float) -> Iterator[RootingWord]:
    for share, text in ((0.0, "0 %"), (0.5, "50 %"), (1.0, "100 %")):
        y = _place(0.0, share, last=last)[1] + 5
        yield RootingWord(x=LEFT - 8, y=y, text=text, anchor="end")
    for day in ticks:
        yield RootingWord(x=_place(float(day), 0.0, last=last)[0], y=FLOOR + 21, text=str(day))
    yield RootingWord(x=RIGHT, y=FLOOR + 40, text="days since sticking", anchor="end")
