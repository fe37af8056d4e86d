"""What a practical session needs for so many people: cuttings, containers, mix, hormone, tools."""

from dataclasses import dataclass

from app.domain.practicals import parse_tool
from app.domain.preparing_sheets import BatchToStick, PreparingSheet, prepare


@dataclass(frozen=True, kw_only=True)
class ToolNeed:
    """How many of a tool are wanted in all; `each` per head, None where it is for all."""

    what: str
    number: int
    each: int | None


@dataclass(frozen=True, kw_only=True)
class PracticalMaterials:
    """What to have ready for `heads` people; `sheet` is None where no cuttings are planned."""

    heads: int
    sheet: PreparingSheet | None
    tools: tuple[ToolNeed, ...]


def materials_for(
    heads: int,
    *,
    each: BatchToStick | None,
    tools: tuple[str, ...],
    room: dict[str, int | None],
) -> PracticalMaterials:
    """Return what so many people need if everybody sticks a batch such as `each`.

    Containers are rounded up for every head, since nobody shares a tray with another's batch.
    `room` has the trays for which each bench has room now.
    """
    needs = [parse_tool(line) for line in tools]
    return PracticalMaterials(
        heads=heads,
        sheet=prepare((each,) * heads, room=room) if each and heads else None,
        tools=tuple(
            ToolNeed(
                what=tool.what,
                number=tool.needed(heads),
                each=None if tool.for_all else tool.number,
            )
            for tool in needs
        ),
    )
