"""Lines of descent: how they are drawn, how generations are counted, and that loops are seen."""

import random

import networkx as nx
import pytest

from app.domain.lines import (
    Descent,
    Member,
    MemberKind,
    children_by_parent,
    drawn_line,
    first_members,
    generations,
    looped_members,
    refuse_loop,
    steps_from,
    turned,
)
from app.domain.problems import NotAccepted


def plant(number: int) -> Member:
    return Member(kind=MemberKind.STOCK_PLANT, id=number)


def batch(number: int) -> Member:
    return Member(kind=MemberKind.BATCH, id=number)


def descents(*pairs: tuple[Member, Member]) -> tuple[Descent, ...]:
    return tuple(Descent(parent=parent, child=child) for parent, child in pairs)


CLONE = descents(
    (plant(1), batch(1)),
    (batch(1), plant(2)),
    (plant(2), batch(2)),
    (batch(2), batch(3)),
    (batch(3), plant(3)),
    (plant(3), batch(4)),
    (plant(1), batch(4)),
)


def test_each_member_is_drawn_before_what_came_from_it_and_once_in_full() -> None:
    drawn = drawn_line(plant(1), descents=CLONE)
    assert [(each.member, each.depth, each.told_before) for each in drawn] == [
        (plant(1), 0, False),
        (batch(1), 1, False),
        (plant(2), 2, False),
        (batch(2), 3, False),
        (batch(3), 4, False),
        (plant(3), 5, False),
        (batch(4), 6, False),
        (batch(4), 1, True),
    ]


def test_a_generation_is_a_renewal_by_cuttings() -> None:
    found = generations(CLONE)
    assert {plant(1): 0, batch(1): 1, plant(2): 1, batch(2): 2} == {
        each: found[each] for each in (plant(1), batch(1), plant(2), batch(2))
    }
    # Re-stuck ones and those kept stay in their generation; of two ways the longer one counts.
    assert (found[batch(3)], found[plant(3)], found[batch(4)]) == (2, 2, 3)


def test_the_first_members_are_those_nothing_comes_before() -> None:
    both = (*CLONE, *descents((plant(9), batch(4))))
    assert first_members(batch(4), descents=both) == (plant(1), plant(9))
    assert first_members(plant(2), descents=both) == (plant(1),)
    assert first_members(plant(1), descents=()) == (plant(1),)


def test_steps_are_the_fewest_that_lead_there() -> None:
    found = steps_from(plant(1), descents=CLONE)
    assert (found[plant(1)], found[batch(1)], found[batch(4)]) == (0, 1, 1)
    assert steps_from(batch(4), descents=turned(CLONE))[plant(1)] == 1
    assert children_by_parent(CLONE)[plant(1)] == (batch(1), batch(4))


@pytest.mark.parametrize("seed", range(20))
def test_loops_are_seen_as_a_library_of_graphs_sees_them(seed: int) -> None:
    chance = random.Random(seed)
    members = [plant(number) for number in range(8)] + [batch(number) for number in range(8)]
    pairs = [tuple(chance.sample(members, k=2)) for _ in range(14)]
    graph = nx.DiGraph(pairs)
    looped = {
        each for part in nx.strongly_connected_components(graph) if len(part) > 1 for each in part
    }
    found = looped_members(descents(*((first, second) for first, second in pairs)))
    # What lies between two loops is named with them: it stands where no sound line can.
    assert looped <= found
    assert bool(found) is not nx.is_directed_acyclic_graph(graph)


def test_a_loop_is_refused_in_a_sentence() -> None:
    with pytest.raises(NotAccepted, match=r"26-0001 itself comes from S-0001, so S-0001 cannot"):
        refuse_loop("S-0001", parent="26-0001", field="raised_from")
    with pytest.raises(NotAccepted, match=r"S-0001 cannot come from itself"):
        refuse_loop("S-0001", parent="S-0001", field="raised_from")
