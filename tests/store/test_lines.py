"""Lines of descent against a library of graphs: every descendant is found, and none else."""

import random
from collections.abc import Iterable
from datetime import date, timedelta

import networkx as nx
import pytest
from sqlalchemy import insert
from sqlalchemy.orm import Session

from app.domain.lines import Descent, Member, MemberKind
from app.domain.problems import NotFound
from app.store.models.batches import Batch, BatchFacts, BatchSource
from app.store.models.genera import Genus
from app.store.models.plant_names import PlantNameRow
from app.store.models.stock_plants import StockPlant
from app.store.queries.line_members import get_line_members
from app.store.queries.lines import Way, descends, get_member, list_descents
from tests.conftest import NOW, TODAY

FIRST = date(2016, 3, 1)


def plant(number: int) -> Member:
    return Member(kind=MemberKind.STOCK_PLANT, id=number)


def batch(number: int) -> Member:
    return Member(kind=MemberKind.BATCH, id=number)


def write_line(session: Session, graph: "nx.DiGraph[Member]", void: Iterable[Member] = ()) -> None:
    """Write the members of a graph and how they come from each other."""
    session.add(Genus(id=1, name="Hebe"))
    session.add(PlantNameRow(id=1, plain="Hebe 'Invented'", genus_id=1, cultivar="Invented"))
    session.flush()
    batches = sorted(each.id for each in graph if each.kind is MemberKind.BATCH)
    plants = sorted(each.id for each in graph if each.kind is MemberKind.STOCK_PLANT)
    voided = {each.id for each in void}
    restuck, raised, sources = {}, {}, []
    for parent, child in graph.edges:
        if child.kind is MemberKind.STOCK_PLANT:
            raised[child.id] = parent.id
        elif parent.kind is MemberKind.BATCH:
            restuck[child.id] = parent.id
        else:
            sources.append((child.id, parent.id))
    rows = [_batch(each, restuck.get(each), each in voided) for each in batches]
    _insert(session, Batch, rows)
    _insert(session, BatchFacts, [_facts(row) for row in rows])
    _insert(session, StockPlant, [_stock_plant(each, raised.get(each)) for each in plants])
    _insert(session, BatchSource, _sources(sources))


def _insert(session: Session, model: type, rows: list[dict[str, object]]) -> None:
    if rows:
        session.execute(insert(model), rows)


def _batch(number: int, restuck_from: int | None, void: bool) -> dict[str, object]:
    return {
        "id": number, "year": 2026, "number": number, "code": f"26-{number:04d}",
        "plant_name_id": 1, "stuck_on": FIRST + timedelta(days=number % 3000),
        "stuck": 20_000 - number, "restuck_from_id": restuck_from,
        "voided_at": NOW if void else None, "made_at": NOW,
    }  # fmt: skip


def _facts(row: dict[str, object]) -> dict[str, object]:
    return {
        "batch_id": row["id"], "genus_id": 1, "plant_name_id": 1, "stuck_on": row["stuck_on"],
        "year_stuck": 2026, "month_stuck": 3, "stuck": row["stuck"], "unrooted": row["stuck"],
        "open": 1, "voided": int(row["voided_at"] is not None),
    }  # fmt: skip


def _stock_plant(number: int, raised_from: int | None) -> dict[str, object]:
    return {
        "id": number, "number": number, "code": f"S-{number:04d}", "plant_name_id": 1,
        "raised_from_id": raised_from, "origin": "raised here" if raised_from else "",
    }  # fmt: skip


def _sources(pairs: list[tuple[int, int]]) -> list[dict[str, object]]:
    places: dict[int, int] = {}
    rows: list[dict[str, object]] = []
    for batch_id, plant_id in pairs:
        places[batch_id] = places.get(batch_id, 0) + 1
        rows.append(
            {
                "batch_id": batch_id,
                "position": places[batch_id],
                "kind": "stock plant",
                "stock_plant_id": plant_id,
            }
        )
    return rows


def grown(seed: int, *, size: int) -> "nx.DiGraph[Member]":
    """Return a family in which every member comes from earlier ones, some from several."""
    chance = random.Random(seed)
    graph: nx.DiGraph[Member] = nx.DiGraph()
    plants, batches = [plant(1)], [batch(1)]
    unstuck = list(batches)
    graph.add_edge(plants[0], batches[0])
    for number in range(2, size):
        if chance.random() < 0.3:
            child = plant(number)
            if chance.random() < 0.8:
                graph.add_edge(chance.choice(batches), child)
            graph.add_node(child)
            plants.append(child)
        else:
            child = batch(number)
            graph.add_node(child)
            for parent in chance.sample(plants, k=min(len(plants), chance.choice([0, 1, 1, 2]))):
                graph.add_edge(parent, child)
            if unstuck and chance.random() < 0.3:
                graph.add_edge(unstuck.pop(chance.randrange(len(unstuck))), child)
            batches.append(child)
            unstuck.append(child)
    return graph


def edges(descents: Iterable[Descent]) -> set[tuple[Member, Member]]:
    return {(each.parent, each.child) for each in descents}


@pytest.mark.parametrize("seed", range(12))
def test_every_descendant_and_ancestor_is_found_and_none_else(session: Session, seed: int) -> None:
    graph = grown(seed, size=8 + 6 * seed)
    write_line(session, graph)
    for start in list(graph)[::5]:
        below = nx.descendants(graph, start) | {start}
        found = list_descents(session, start=[start], way=Way.DOWN)
        assert edges(found) == set(graph.out_edges(below))
        above = nx.ancestors(graph, start) | {start}
        found = list_descents(session, start=[start], way=Way.UP)
        assert edges(found) == set(graph.in_edges(above))
        for other in list(graph)[::7]:
            assert descends(session, child=other, parent=start) is (other in below)


def test_a_void_batch_stands_in_no_line_but_still_makes_a_loop(session: Session) -> None:
    graph: nx.DiGraph[Member] = nx.DiGraph([(plant(1), batch(1)), (batch(1), plant(2))])
    write_line(session, graph, void=[batch(1)])
    assert list_descents(session, start=[plant(1)], way=Way.DOWN) == ()
    assert list_descents(session, start=[plant(2)], way=Way.UP) == ()
    assert descends(session, child=plant(2), parent=plant(1))
    assert not descends(session, child=plant(1), parent=plant(2))


def test_several_starts_are_followed_at_once(session: Session) -> None:
    graph: nx.DiGraph[Member] = nx.DiGraph(
        [(plant(1), batch(1)), (plant(2), batch(2)), (plant(3), batch(3))]
    )
    write_line(session, graph)
    found = list_descents(session, start=[plant(1), plant(3)], way=Way.DOWN)
    assert edges(found) == {(plant(1), batch(1)), (plant(3), batch(3))}
    assert list_descents(session, start=[], way=Way.DOWN) == ()


def test_long_and_wide_lines_are_found_whole(session: Session) -> None:
    # Ten thousand descendants: one long line of renewals, and one plant with thousands of batches.
    long: list[tuple[Member, Member]] = []
    for step in range(1, 2_501):
        long += [(plant(step), batch(step)), (batch(step), plant(step + 1))]
    wide = [(plant(1), batch(number)) for number in range(3_000, 8_000)]
    write_line(session, nx.DiGraph(long + wide))
    assert len(list_descents(session, start=[plant(2_501)], way=Way.UP)) == 5_000
    found = list_descents(session, start=[plant(1)], way=Way.DOWN)
    assert len({each.child for each in found}) == 10_000
    members = get_line_members(session, members=[each.child for each in found], on=TODAY)
    assert len(members) == 10_000
    assert members[batch(3_000)].code == "26-3000"


def test_a_member_is_found_by_its_code(session: Session) -> None:
    write_line(session, nx.DiGraph([(plant(1), batch(1))]))
    assert get_member(session, code="s1") == plant(1)
    assert get_member(session, code="26-1") == batch(1)
    with pytest.raises(NotFound, match="no stock plant and no batch S-0009"):
        get_member(session, code="S-0009")


def test_what_a_member_is_and_whether_it_is_still_here(session: Session) -> None:
    write_line(session, nx.DiGraph([(plant(1), batch(1)), (batch(1), plant(2))]))
    session.get_one(StockPlant, 2).state = "discarded"
    session.flush()
    found = get_line_members(session, members=[plant(1), plant(2), batch(1)], on=TODAY)
    assert {each.code: (each.number, each.is_here) for each in found.values()} == {
        "S-0001": (1, True),
        "S-0002": (1, False),
        "26-0001": (19_999, True),
    }
    standing = found[batch(1)].standing
    assert standing is not None
    assert standing.unrooted == 19_999
