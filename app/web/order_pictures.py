"""The picture of an order's plan: the chance of enough against the number stuck.

Numbers in, places out; the template writes them down and nothing here knows a colour.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

WIDTH: Final = 480
HEIGHT: Final = 256
LEFT: Final = 58
RIGHT: Final = 462
TOP: Final = 24
FLOOR: Final = 206
_STEPS: Final = (1, 2, 5)
_MOST_TICKS: Final = 6
_WORD: Final = 72


@dataclass(frozen=True, kw_only=True)
class ChanceWord:
    """A number on an axis or beside a mark; `anchor` says how it hangs on its place."""

    x: float
    y: float
    text: str
    anchor: str = "middle"


@dataclass(frozen=True, kw_only=True)
class ChancePicture:
    """Paths of the axes, the curve, the wanted chance, and the marks of plan and naive sum."""

    axis: str
    curve: str
    wanted: str
    plan: str
    naive: str
    words: tuple[ChanceWord, ...]
    width: int = WIDTH
    height: int = HEIGHT


def chance_picture(
    points: Sequence[tuple[int, float]], *, sure: float, plan: int | None, naive: int | None
) -> ChancePicture | None:
    """Return the picture of (number stuck, chance) in rising order; None with fewer than two.

    `plan` and `naive` are marked where they lie within the numbers drawn.
    """
    if len(points) < len(_STEPS) - 1:
        return None
    least, most = points[0][0], points[-1][0]

    def across(number: float) -> float:
        return round(LEFT + (RIGHT - LEFT) * (number - least) / max(most - least, 1), 1)

    def mark(number: int | None) -> str:
        if number is None or not least <= number <= most:
            return ""
        return f"M{across(number):g} {FLOOR}V{TOP}"

    ticks = list(_ticks(least, most))
    axis = f"M{LEFT} {TOP}V{FLOOR}H{RIGHT}" + "".join(
        f"M{across(tick):g} {FLOOR}V{FLOOR + 5}" for tick in ticks
    )
    words = [ChanceWord(x=across(tick), y=FLOOR + 21, text=f"{tick:,}") for tick in ticks]
    places = [f"{across(number):g} {_up(chance):g}" for number, chance in points]
    return ChancePicture(
        axis=axis,
        curve="M" + "L".join(places),
        wanted=f"M{LEFT} {_up(sure):g}H{RIGHT}",
        plan=mark(plan),
        naive=mark(naive),
        words=(
            *words,
            *_chances(),
            *_names(across, plan=plan, naive=naive, least=least, most=most),
            ChanceWord(x=RIGHT, y=FLOOR + 41, text="cuttings stuck", anchor="end"),
        ),
    )


def _up(chance: float) -> float:
    return round(FLOOR - (FLOOR - TOP) * chance, 1)


def _chances() -> Iterator[ChanceWord]:
    for chance, text in ((0.0, "0 %"), (0.5, "50 %"), (1.0, "100 %")):
        yield ChanceWord(x=LEFT - 8, y=_up(chance) + 5, text=text, anchor="end")


def _names(
    across: Callable[[float], float],
    *,
    plan: int | None,
    naive: int | None,
    least: int,
    most: int,
) -> Iterator[ChanceWord]:
    """Yield what the marks are called: the naive sum on its left, the plan on its right."""
    for number, text, side in ((naive, "naive sum", "end"), (plan, "this plan", "start")):
        if number is None or not least <= number <= most:
            continue
        x = across(number)
        anchor = "start" if x - _WORD < LEFT else "end" if x + _WORD > RIGHT else side
        yield ChanceWord(x=x, y=TOP - 8, text=text, anchor=anchor)


def _ticks(least: int, most: int) -> Iterator[int]:
    span, step, place = most - least, 1, 0
    while span / step > _MOST_TICKS:
        place += 1
        step = _STEPS[place % len(_STEPS)] * 10 ** (place // len(_STEPS))
    first = -(-least // step) * step
    yield from range(first, most + 1, step)
