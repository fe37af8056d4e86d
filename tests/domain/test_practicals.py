"""What a practical session needs, its steps, and its batches side by side."""

from datetime import date

import pytest

from app.domain.card_steps import CardStep
from app.domain.containers import ContainerKind
from app.domain.cutting_types import Cut, CuttingType
from app.domain.hormones import parse_hormone
from app.domain.method_card_words import card_lines
from app.domain.method_cards import CardValues
from app.domain.mixes import MixPart
from app.domain.nursery import Hemisphere
from app.domain.outcomes import Standing
from app.domain.practical_materials import ToolNeed, materials_for
from app.domain.practical_results import TakenBatch, results_of
from app.domain.practical_steps import steps_of_card
from app.domain.practicals import PracticalState, Tool, parse_tool, state_of
from app.domain.preparing_sheets import BatchToStick, ContainerMeasure, MixRecipe
from app.domain.problems import NotAccepted
from app.domain.strike_rates import ASSUMED_CORRELATION, Basis

STUCK_ON = date(2026, 3, 2)
EACH = BatchToStick(
    plant="Hebe 'Great Orme'",
    cuttings=30,
    container=ContainerMeasure(
        name="24-plug tray", kind=ContainerKind.TRAY, plugs=24, volume_ml=55.0
    ),
    mix=MixRecipe(name="Bark", parts=(MixPart(ingredient="bark", parts=1.0),)),
    hormone=parse_hormone("IBA talc 1000 ppm"),
)


def taken(code: str, person_id: int | None, person: str, rooted: int, **more: object) -> TakenBatch:
    values: dict[str, object] = {
        "standing": Standing(stuck=20, rooted=rooted, lost=20 - rooted),
        "plant": "Hebe",
        "stuck_on": STUCK_ON,
    }
    return TakenBatch(code=code, person_id=person_id, person=person, **(values | more))  # type: ignore[arg-type]


def test_materials_are_for_so_many_heads() -> None:
    """30 cuttings fill two trays of 24 plugs; eight people need 16, not the 10 of 240 in a row.

    16 trays x 24 plugs x 55 ml = 21.12 l, the tray of 84 x 55 ml = 4.62 l in the same way
    (computed).
    """
    found = materials_for(8, each=EACH, tools=("knife", "2 dibbers", "1 sprayer for all"), room={})
    assert found.sheet is not None
    assert found.sheet.cuttings == 240
    assert found.sheet.totals == (("24-plug tray", 16),)
    assert found.sheet.mixes[0].litres == pytest.approx(21.12)
    assert found.sheet.hormones[0].cuttings == 240
    assert found.tools == (
        ToolNeed(what="knife", number=8, each=1),
        ToolNeed(what="dibbers", number=16, each=2),
        ToolNeed(what="sprayer", number=1, each=None),
    )


def test_nothing_planned_needs_tools_only() -> None:
    found = materials_for(5, each=None, tools=("knife",), room={})
    assert (found.sheet, found.tools[0].number) == (None, 5)
    assert materials_for(0, each=EACH, tools=(), room={}).sheet is None


@pytest.mark.parametrize(
    ("line", "tool"),
    [
        ("knife", Tool(what="knife")),
        ("2 x  labels", Tool(what="labels", number=2)),
        ("3 buckets for all", Tool(what="buckets", number=3, for_all=True)),
        ("84-plug tray", Tool(what="84-plug tray")),
    ],
)
def test_tools_are_read(line: str, tool: Tool) -> None:
    assert parse_tool(line) == tool


@pytest.mark.parametrize("line", ["12", "0 knives", "99999 knives"])
def test_what_is_no_tool_is_refused(line: str) -> None:
    with pytest.raises(NotAccepted, match="is no tool"):
        parse_tool(line)


def test_where_it_stands() -> None:
    day = date(2026, 3, 2)
    states = [state_of(day, cancelled=False, today=day.replace(day=number)) for number in (1, 2, 3)]
    assert states == [PracticalState.AHEAD, PracticalState.TODAY, PracticalState.HELD]
    assert state_of(day, cancelled=True, today=day) is PracticalState.CANCELLED


def test_a_card_gives_the_steps_in_the_order_of_the_work() -> None:
    values = CardValues(
        cut=Cut.NODAL,
        leaves_low=2,
        leaves_high=4,
        hormone_substance="IBA",
        hormone_form="talc",
        hormone_ppm_low=1000,
        hormone_ppm_high=1000,
        cover="mist",
        notes="Keep cool.\n\nNever let them flag.",
    )
    lines = card_lines(
        values,
        cutting_type=CuttingType.SEMI_RIPE,
        standings={},
        hemisphere=Hemisphere.NORTH,
    )
    assert steps_of_card(lines) == (
        "Choose semi-ripe shoots that are healthy and true to type",
        "Make the base a nodal cut",
        "Leave 2 to 4 leaves on",
        "Dip the base: IBA talc 1,000 ppm",
        "Cover: mist",
        "Keep cool.",
        "Never let them flag.",
    )


def test_the_steps_on_a_card_come_first() -> None:
    steps = (CardStep(step="Strip the lower leaves", reason="they rot"), CardStep(step="Water in"))
    assert steps_of_card((), steps=steps) == ("Strip the lower leaves (they rot)", "Water in")


def test_batches_stand_by_name_and_code_never_by_result() -> None:
    batches = [taken("26-0009", 1, "Ada", 2), taken("26-0003", 2, "bert", 20)]
    batches += [taken("26-0004", 1, "Ada", 19), taken("26-0005", None, "", 5)]
    found = results_of(batches, only_person_id=None, correlation=ASSUMED_CORRELATION)
    assert [line.batch.code for line in found.lines] == [
        "26-0005", "26-0004", "26-0009", "26-0003",
    ]  # fmt: skip
    assert found.pooled is not None
    assert found.pooled.strike_share == pytest.approx(46 / 80)
    assert all(line.square.few for line in found.lines)


def test_the_sum_rests_on_effective_cuttings() -> None:
    """Each batch of 20 is worth 20 / (1 + 19 x 0.12) = 6.0976 cuttings (computed)."""
    batches = [taken(f"26-000{number}", number, "A", 10) for number in (1, 2, 3)]
    found = results_of(batches, only_person_id=None, correlation=0.12)
    assert found.pooled is not None
    assert found.pooled.effective_cuttings == pytest.approx(3 * 6.09756, abs=1e-4)
    assert found.pooled.basis is Basis.FINISHED


def test_void_and_re_stuck_batches_are_in_no_sum() -> None:
    batches = [taken("26-0001", 1, "A", 10), taken("26-0002", 1, "A", 20, void=True)]
    batches.append(taken("26-0003", 1, "A", 20, restuck=True))
    found = results_of(batches, only_person_id=None, correlation=0.12)
    assert len(found.lines) == 3
    assert found.pooled is not None
    assert found.pooled.facts.every.stuck == 20
    alone = results_of(batches[1:], only_person_id=None, correlation=0.12)
    assert alone.pooled is None


def test_who_sees_only_their_own_sees_the_sum_of_three_or_more() -> None:
    batches = [taken("26-0001", 1, "A", 10), taken("26-0002", 2, "B", 20)]
    two = results_of(batches, only_person_id=2, correlation=0.12)
    assert [line.batch.code for line in two.lines] == ["26-0002"]
    assert (two.pooled, two.people, two.hidden) == (None, 2, 1)
    batches.append(taken("26-0003", 3, "C", 5))
    three = results_of(batches, only_person_id=2, correlation=0.12)
    assert three.pooled is not None
    assert three.pooled.facts.every.batches == 3
