"""The funnel: how far each label lies from what was expected, beside how much is known of it.

How much is known goes along, in separate cuttings, points up. The limits at two and three
standard errors are for the eye; what is said follows from the chances, not from them.
"""

from dataclasses import dataclass
from math import sqrt
from typing import Final

from app.domain.comparisons_words import points_words
from app.web.rate_pictures import Words

_WIDTH: Final = 640
_HEIGHT: Final = 340
_LEFT: Final = 52
_RIGHT: Final = 16
_TOP: Final = 14
_BOTTOM: Final = 48
_RADIUS: Final = 5
_POINTS: Final = 60
_REACHES: Final = (0.10, 0.20, 0.30, 0.50, 1.00)
_ROUND: Final = (20, 50, 100, 200, 500, 1000, 2000, 5000, 10_000, 20_000, 50_000, 100_000)


@dataclass(frozen=True, kw_only=True)
class FunnelLabel:
    """One label: how many separate cuttings its difference (-1 to 1) is as sure as, and a name
    where it is called.
    """

    known: float
    difference: float
    name: str = ""


@dataclass(frozen=True, kw_only=True)
class Dot:
    """One label's place; a called one is a diamond drawn as a path."""

    x: float
    y: float
    diamond: str


@dataclass(frozen=True, kw_only=True)
class FunnelPicture:
    """All shapes in the units of the picture's own size; `radius` is that of its dots."""

    width: int
    height: int
    axes: str
    inner: str
    outer: str
    dots: tuple[Dot, ...]
    words: tuple[Words, ...]
    radius: int = _RADIUS


@dataclass(frozen=True, kw_only=True)
class _Scale:
    most: float
    reach: float

    def across(self, known: float) -> float:
        """Return how far along a number of separate cuttings stands."""
        return round(_LEFT + known / self.most * (_WIDTH - _LEFT - _RIGHT), 2)

    def down(self, difference: float) -> float:
        """Return how far down a difference stands, held inside the picture."""
        held = min(max(difference, -self.reach), self.reach)
        half = (_HEIGHT - _TOP - _BOTTOM) / 2.0
        return round(_TOP + half - held / self.reach * half, 2)


def funnel_picture(labels: list[FunnelLabel], *, scatter: float) -> FunnelPicture | None:
    """Return the picture, or None where there is no label.

    `scatter` is the variance of one separate cutting: the limits at n of them lie at two and
    three times sqrt(scatter / n).
    """
    if not labels:
        return None
    most = max(label.known for label in labels) * 1.1
    reach = max(abs(label.difference) for label in labels) * 1.1
    scale = _Scale(most=most, reach=next((step for step in _REACHES if reach <= step), 1.0))
    return FunnelPicture(
        width=_WIDTH,
        height=_HEIGHT,
        axes=_axes(scale),
        inner=_limits(scale, times=2.0, scatter=scatter),
        outer=_limits(scale, times=3.0, scatter=scatter),
        dots=tuple(_dot(label, scale) for label in labels),
        words=(*_ticks(scale), *_called(labels, scale)),
    )


def _axes(scale: _Scale) -> str:
    bottom, right = _HEIGHT - _BOTTOM, _WIDTH - _RIGHT
    return f"M{_LEFT} {_TOP}V{bottom}H{right}M{_LEFT} {scale.down(0.0)}H{right}"


def _limits(scale: _Scale, *, times: float, scatter: float) -> str:
    sides = []
    for sign in (1.0, -1.0):
        places = []
        for step in range(1, _POINTS + 1):
            known = scale.most * step / _POINTS
            limit = times * sqrt(scatter / known)
            if limit <= scale.reach:
                places.append(f"{scale.across(known)} {scale.down(sign * limit)}")
        if places:
            sides.append("M" + "L".join(places))
    return "".join(sides)


def _dot(label: FunnelLabel, scale: _Scale) -> Dot:
    x, y = scale.across(label.known), scale.down(label.difference)
    size = _RADIUS + 2
    diamond = f"M{x} {y - size}l{size} {size}l-{size} {size}l-{size} -{size}z" if label.name else ""
    return Dot(x=x, y=y, diamond=diamond)


def _ticks(scale: _Scale) -> list[Words]:
    bottom = _HEIGHT - _BOTTOM
    ups = [
        Words(x=_LEFT - 6, y=scale.down(value) + 5, text=points_words(value), anchor="end")
        for value in (scale.reach, 0.0, -scale.reach)
    ]
    step = next((each for each in _ROUND if scale.most / each <= 6.0), _ROUND[-1])
    alongs = [
        Words(x=scale.across(number), y=bottom + 18, text=f"{number:,}", anchor="middle")
        for number in range(0, int(scale.most) + 1, step)
    ]
    title = Words(
        x=(_LEFT + _WIDTH - _RIGHT) / 2,
        y=_HEIGHT - 8,
        text="how much is known, in separate cuttings",
        anchor="middle",
    )
    return [*ups, *alongs, title]


def _called(labels: list[FunnelLabel], scale: _Scale) -> list[Words]:
    found = []
    for label in labels:
        if label.name:
            x, y = scale.across(label.known), scale.down(label.difference)
            left = x > _WIDTH / 2
            place = x - _RADIUS - 6 if left else x + _RADIUS + 6
            anchor = "end" if left else "start"
            found.append(Words(x=round(place, 2), y=y + 5, text=label.name, anchor=anchor))
    return found
