"""Reading one line whole: where a stock plant or batch came from and what came from it."""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from sqlalchemy.orm import Session

from app.domain.line_rates import GenerationRate, LineBatch, rates_by_generation
from app.domain.lines import (
    Descent,
    DrawnMember,
    Member,
    MemberKind,
    drawn_line,
    first_members,
    generations,
    turned,
)
from app.domain.strike_rates import ASSUMED_CORRELATION
from app.store.queries.line_members import LineMember, get_line_members
from app.store.queries.lines import Way, get_member, list_descents


@dataclass(frozen=True, kw_only=True)
class LineStep:
    """One member in a drawn line: how many steps from its start, and in which generation."""

    depth: int
    generation: int
    known: LineMember
    told_before: bool


@dataclass(frozen=True, kw_only=True)
class Line:
    """A stock plant or batch with its line up and down, itself in neither.

    `rates` are those of the whole family: of all that comes from the same first plants.
    """

    start: LineMember
    generation: int
    firsts: tuple[LineMember, ...]
    up: tuple[LineStep, ...]
    down: tuple[LineStep, ...]
    rates: tuple[GenerationRate, ...]


def get_line(
    session: Session, *, code: str, on: date, correlation: float = ASSUMED_CORRELATION
) -> Line:
    """Return the line of the stock plant or batch of this code, as it stands on a day.

    `correlation` is that of two cuttings of one batch, 0 to 1.

    Raises:
        NotFound: neither has it.
    """
    start = get_member(session, code=code)
    above = list_descents(session, start=[start], way=Way.UP)
    firsts = first_members(start, descents=above)
    family = list_descents(session, start=firsts, way=Way.DOWN)
    numbers = generations(family)
    known = get_line_members(session, members=_members(family, above, start), on=on)
    down = drawn_line(start, descents=family)
    up = drawn_line(start, descents=turned(above))
    return Line(
        start=known[start],
        generation=numbers.get(start, 0),
        firsts=tuple(known[first] for first in firsts if first != start),
        up=_steps(up, known=known, numbers=numbers),
        down=_steps(down, known=known, numbers=numbers),
        rates=rates_by_generation(_batches(known, numbers=numbers), correlation=correlation),
    )


def _members(family: Collection[Descent], above: Collection[Descent], start: Member) -> set[Member]:
    ends = {end for descent in (*family, *above) for end in (descent.parent, descent.child)}
    return ends | {start}


def _steps(
    drawn: Collection[DrawnMember],
    *,
    known: Mapping[Member, LineMember],
    numbers: Mapping[Member, int],
) -> tuple[LineStep, ...]:
    return tuple(
        LineStep(
            depth=each.depth,
            generation=numbers.get(each.member, 0),
            known=known[each.member],
            told_before=each.told_before,
        )
        for each in drawn
        if each.depth
    )


def _batches(
    known: Mapping[Member, LineMember], *, numbers: Mapping[Member, int]
) -> Iterator[LineBatch]:
    for member, found in known.items():
        if member.kind is MemberKind.BATCH and found.standing and found.on and not found.restuck:
            yield LineBatch(
                generation=numbers.get(member, 0), stuck_on=found.on, standing=found.standing
            )
