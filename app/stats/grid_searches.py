"""Climbing to the best point of a grid, one coordinate at a time."""

from collections.abc import Callable, Sequence

IMPROVEMENT = 1e-9


def best_place(
    score: Callable[[tuple[int, ...]], float],
    *,
    start: Sequence[int],
    sizes: Sequence[int],
    steps: Sequence[int],
) -> tuple[int, ...]:
    """Return the grid place at which no single step improves the score.

    `sizes` are the grid's lengths; `steps` the step lengths, tried from the first (widest) to
    the last, 1. Every place is scored once. A surface with several tops may give a lower one.
    """
    known: dict[tuple[int, ...], float] = {}

    def scored(place: tuple[int, ...]) -> float:
        if place not in known:
            known[place] = score(place)
        return known[place]

    place = tuple(start)
    for step in steps:
        place = _settled(place, scored, sizes, step)
    return place


def _settled(
    place: tuple[int, ...],
    scored: Callable[[tuple[int, ...]], float],
    sizes: Sequence[int],
    step: int,
) -> tuple[int, ...]:
    moved = True
    while moved:
        before = place
        for axis in range(len(place)):
            place = _better(place, axis, scored, sizes, step)
        moved = place != before
    return place


def _better(
    place: tuple[int, ...],
    axis: int,
    scored: Callable[[tuple[int, ...]], float],
    sizes: Sequence[int],
    step: int,
) -> tuple[int, ...]:
    here = scored(place)
    for change in (step, -step):
        moved = min(max(place[axis] + change, 0), sizes[axis] - 1)
        tried = (*place[:axis], moved, *place[axis + 1 :])
        if scored(tried) > here + IMPROVEMENT:
            return tried
    return place
