"""Lines of descent: stock plants, the batches cut from them, the stock plants kept from those.

A line of a family links a parent to what was taken from it: a batch from its stock plants, a
batch from the one it was re-stuck from, a stock plant from the batch it was raised in.
"""

from collections import Counter, defaultdict, deque
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Final, NoReturn

from app.domain.problems import NotAccepted


class MemberKind(StrEnum):
    """What a member of a line is."""

    STOCK_PLANT = "stock plant"
    BATCH = "batch"


@dataclass(frozen=True, order=True, kw_only=True)
class Member:
    """One stock plant or batch, by the number the log knows it by."""

    kind: MemberKind
    id: int


@dataclass(frozen=True, kw_only=True)
class Descent:
    """That `child` was taken or raised from `parent`."""

    parent: Member
    child: Member


@dataclass(frozen=True, kw_only=True)
class DrawnMember:
    """A member as it stands in a drawn line: how many steps in, and whether it stood before.

    What was `told_before` has its own descent there and is only named here.
    """

    member: Member
    depth: int
    told_before: bool = False


def children_by_parent(descents: Iterable[Descent]) -> Mapping[Member, tuple[Member, ...]]:
    """Return what was taken from each, in order of kind and number."""
    found: dict[Member, set[Member]] = defaultdict(set)
    for descent in descents:
        found[descent.parent].add(descent.child)
    return {parent: tuple(sorted(children)) for parent, children in found.items()}


def turned(descents: Iterable[Descent]) -> tuple[Descent, ...]:
    """Return the same descents the other way round, so that a line is followed up."""
    return tuple(Descent(parent=each.child, child=each.parent) for each in descents)


def steps_from(start: Member, *, descents: Iterable[Descent]) -> Mapping[Member, int]:
    """Return everything that comes from `start`, itself as 0, by the fewest steps to it."""
    children = children_by_parent(descents)
    steps, waiting = {start: 0}, deque([start])
    while waiting:
        parent = waiting.popleft()
        for child in children.get(parent, ()):
            if child not in steps:
                steps[child] = steps[parent] + 1
                waiting.append(child)
    return steps


def drawn_line(start: Member, *, descents: Iterable[Descent]) -> tuple[DrawnMember, ...]:
    """Return the line from `start` on, each member before what came from it.

    A member that is reached by two ways is drawn out where it comes first.
    """
    children = children_by_parent(descents)
    drawn: list[DrawnMember] = []
    told: set[Member] = set()
    waiting = [(start, 0)]
    while waiting:
        member, depth = waiting.pop()
        before = member in told
        drawn.append(DrawnMember(member=member, depth=depth, told_before=before))
        if not before:
            told.add(member)
            waiting += [(child, depth + 1) for child in reversed(children.get(member, ()))]
    return tuple(drawn)


def generations(descents: Collection[Descent]) -> Mapping[Member, int]:
    """Return how often each member was renewed by cuttings since the first ones, which are 0.

    A batch counts one more than the stock plant it was cut from; what is re-stuck, or kept as a
    stock plant, stays in the generation of its batch. With several parents the longest way counts.
    """
    children, open_parents = children_by_parent(descents), Counter[Member]()
    for descent in set(descents):
        open_parents[descent.child] += 1
    found: dict[Member, int] = {}
    ready = sorted({descent.parent for descent in descents} - set(open_parents))
    found.update(dict.fromkeys(ready, 0))
    while ready:
        parent = ready.pop()
        for child in children.get(parent, ()):
            found[child] = max(found.get(child, 0), found[parent] + _renews(parent, child=child))
            open_parents[child] -= 1
            if not open_parents[child]:
                ready.append(child)
    return found


def first_members(start: Member, *, descents: Collection[Descent]) -> tuple[Member, ...]:
    """Return those that nothing in the log comes before: the origins that `start` goes back to."""
    back = steps_from(start, descents=turned(descents))
    with_parent = {descent.child for descent in descents}
    return tuple(sorted(member for member in back if member not in with_parent))


def looped_members(descents: Iterable[Descent]) -> frozenset[Member]:
    """Return the members that come from themselves; a sound log has none."""
    left = set(descents)
    while True:
        parents = {descent.parent for descent in left}
        children = {descent.child for descent in left}
        inner = {each for each in left if each.parent in children and each.child in parents}
        if inner == left:
            return frozenset(parents)
        left = inner


def refuse_loop(child: str, *, parent: str, field: str) -> NoReturn:
    """Refuse that something comes from what was itself taken from it, both by their codes.

    Raises:
        NotAccepted: always.
    """
    if child == parent:
        raise NotAccepted.at(field, f"{child} cannot come from itself.")
    sentence = f"{parent} itself comes from {child}, so {child} cannot come from it."
    raise NotAccepted.at(field, sentence)


_RENEWED: Final = (MemberKind.STOCK_PLANT, MemberKind.BATCH)


def _renews(parent: Member, *, child: Member) -> int:
    return int((parent.kind, child.kind) == _RENEWED)
