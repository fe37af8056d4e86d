"""What is said of a batch by its way alone: which way up a piece is, how a graft was made."""

from collections.abc import Iterator
from dataclasses import dataclass, fields
from enum import StrEnum
from typing import Final

from app.domain.cutting_types import PIECES, CuttingType
from app.domain.problems import Problem

LONGEST_TEXT: Final = 200
TALLEST_UNION_CM: Final = 300.0
MOST_PLANTLETS: Final = 100_000


class WayUp(StrEnum):
    """How a piece lies in the medium; a root cutting has an end that was nearer the crown."""

    RIGHT_WAY_UP = "right way up"
    UPSIDE_DOWN = "upside down"
    SLANTING = "slanting"
    FLAT = "flat"


class LeafPart(StrEnum):
    """What of a leaf is stuck."""

    WITH_STALK = "whole leaf with stalk"
    WITHOUT_STALK = "whole leaf without stalk"
    SECTION = "section across the leaf"
    WEDGE = "wedge with a vein"
    VEINS_CUT = "laid flat with the veins cut"


class ScaleKind(StrEnum):
    """What of a bulb is stuck."""

    SINGLE = "single scales"
    TWIN = "twin scales"
    CHIPS = "chips with a piece of base plate"


class GraftMethod(StrEnum):
    """How scion and rootstock are joined."""

    WHIP = "whip"
    WHIP_AND_TONGUE = "whip and tongue"
    SPLICE = "splice"
    SIDE_VENEER = "side veneer"
    SIDE_WEDGE = "side wedge"
    CLEFT = "cleft"
    SADDLE = "saddle"
    APICAL_WEDGE = "apical wedge"
    CHIP_BUD = "chip bud"
    T_BUD = "T-bud"
    PATCH_BUD = "patch bud"
    APPROACH = "approach"


@dataclass(frozen=True, kw_only=True)
class WayDetails:
    """What only some types have; None and "" mean not recorded.

    A graft's scion comes from the batch's sources. `rootstock_source` is the supplier and lot of
    the rootstocks, `union_cm` how high above the ground the union stands.
    """

    way_up: WayUp | None = None
    leaf_part: LeafPart | None = None
    scale_kind: ScaleKind | None = None
    graft_method: GraftMethod | None = None
    rootstock_id: int | None = None
    rootstock_source: str = ""
    union_cm: float | None = None

    @property
    def is_blank(self) -> bool:
        """Whether nothing is recorded."""
        return all(getattr(self, field.name) in (None, "") for field in fields(self))


NOTHING: Final = WayDetails()
_GRAFTS: Final = frozenset({CuttingType.GRAFT})
BELONGS: Final[dict[str, frozenset[CuttingType]]] = {
    "way_up": PIECES,
    "leaf_part": frozenset({CuttingType.LEAF}),
    "scale_kind": frozenset({CuttingType.SCALE}),
    "graft_method": _GRAFTS,
    "rootstock_id": _GRAFTS,
    "rootstock_source": _GRAFTS,
    "union_cm": _GRAFTS,
}
"""For which types each field is."""
_FIELDS: Final = {"rootstock_id": "rootstock"}


def detail_problems(details: WayDetails, *, cutting_type: CuttingType | None) -> Iterator[Problem]:
    """Yield what is wrong: a field of another type, a number or a text that is too large."""
    for name, types in BELONGS.items():
        if getattr(details, name) not in (None, "") and cutting_type not in types:
            sentence = f"This is for {types_words(name)}: leave it blank, or choose that type."
            yield Problem(field=_FIELDS.get(name, name), sentence=sentence)
    if details.union_cm is not None and not 0 <= details.union_cm <= TALLEST_UNION_CM:
        sentence = f"Give from 0 to {TALLEST_UNION_CM:g} cm."
        yield Problem(field="union_cm", sentence=sentence)
    if len(details.rootstock_source) > LONGEST_TEXT:
        sentence = f"This is too long: keep it to {LONGEST_TEXT} letters."
        yield Problem(field="rootstock_source", sentence=sentence)


def types_words(field: str) -> str:
    """Return for what a field is, such as "leaf, root and scale cuttings"."""
    if BELONGS[field] == _GRAFTS:
        return "grafts"
    *first, last = sorted(kind.value for kind in BELONGS[field])
    kinds = f"{', '.join(first)} and {last}" if first else last
    return f"{kinds} cuttings"


def details_words(details: WayDetails, *, cutting_type: CuttingType | None, rootstock: str) -> str:
    """Return the details that belong to the type as part of a sentence, "" for none.

    `rootstock` is its name.
    """
    if cutting_type is CuttingType.GRAFT:
        return _graft_words(details, rootstock=rootstock)
    said = [
        getattr(details, name).value
        for name in ("leaf_part", "scale_kind", "way_up")
        if getattr(details, name) is not None and cutting_type in BELONGS[name]
    ]
    return ", ".join(said)


def _graft_words(details: WayDetails, *, rootstock: str) -> str:
    method = details.graft_method.value if details.graft_method else ""
    source = f" ({details.rootstock_source})" if details.rootstock_source else ""
    on = f"on {rootstock}{source}" if rootstock else f"rootstock{source}" if source else ""
    union = f"union at {details.union_cm:g} cm" if details.union_cm is not None else ""
    return ", ".join(part for part in (method, on, union) if part)


def plantlet_problem(
    plantlets: int | None, *, cutting_type: CuttingType | str | None
) -> Problem | None:
    """Return what is wrong with plantlets counted at a check, None if nothing is."""
    if plantlets is None:
        return None
    if cutting_type not in PIECES:
        sentence = "Plantlets are counted of leaf, root and scale pieces only: leave this blank."
        return Problem(field="plantlets", sentence=sentence)
    if not 0 <= plantlets <= MOST_PLANTLETS:
        return Problem(field="plantlets", sentence=f"Give from 0 to {MOST_PLANTLETS:,} plantlets.")
    return None


def plantlets_words(plantlets: int, *, struck: int) -> str:
    """Return plantlets with how many to each piece that struck; they are in no rate."""
    noun = "plantlet" if plantlets == 1 else "plantlets"
    each = f", {plantlets / struck:.1f} to each piece that struck" if struck else ""
    return f"{plantlets:,} {noun}{each}"
