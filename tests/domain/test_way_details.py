"""What only some types have: which way up, what of the leaf, how it was grafted, plantlets.

Which methods there are, and that root cuttings have a way up, is common practice, no source.
"""

from typing import Any

import pytest

from app.domain.cutting_types import PIECES, CuttingType
from app.domain.way_details import (
    GraftMethod,
    LeafPart,
    ScaleKind,
    WayDetails,
    WayUp,
    detail_problems,
    details_words,
    plantlet_problem,
    plantlets_words,
)

ROOT, LEAF, SCALE, GRAFT = (
    CuttingType.ROOT, CuttingType.LEAF, CuttingType.SCALE, CuttingType.GRAFT,
)  # fmt: skip


def fields_of(kind: CuttingType | None, **said: Any) -> list[str]:
    return [each.field for each in detail_problems(WayDetails(**said), cutting_type=kind)]


@pytest.mark.parametrize(
    ("kind", "said", "field"),
    [
        (CuttingType.SOFTWOOD, {"way_up": WayUp.FLAT}, "way_up"),
        (None, {"way_up": WayUp.FLAT}, "way_up"),
        (ROOT, {"leaf_part": LeafPart.WEDGE}, "leaf_part"),
        (LEAF, {"scale_kind": ScaleKind.TWIN}, "scale_kind"),
        (CuttingType.DIVISION, {"graft_method": GraftMethod.CLEFT}, "graft_method"),
        (ROOT, {"rootstock_id": 3}, "rootstock"),
        (ROOT, {"rootstock_source": "lot 3"}, "rootstock_source"),
        (ROOT, {"union_cm": 0.0}, "union_cm"),
        (GRAFT, {"union_cm": 900.0}, "union_cm"),
        (GRAFT, {"rootstock_source": "x" * 201}, "rootstock_source"),
    ],
)
def test_what_does_not_belong_or_cannot_be_is_refused(
    kind: CuttingType | None, said: dict[str, Any], field: str
) -> None:
    assert fields_of(kind, **said) == [field]


def test_what_belongs_is_taken() -> None:
    for kind in PIECES:
        assert fields_of(kind, way_up=WayUp.UPSIDE_DOWN) == []
    assert fields_of(LEAF, leaf_part=LeafPart.SECTION) == []
    assert fields_of(SCALE, scale_kind=ScaleKind.TWIN) == []
    said: dict[str, Any] = {"graft_method": GraftMethod.T_BUD, "rootstock_id": 1, "union_cm": 12.5}
    assert fields_of(GRAFT, **said, rootstock_source="Farrow, lot 3") == []
    assert fields_of(CuttingType.DIVISION) == []


def test_the_sentence_says_for_what_a_field_is() -> None:
    (problem,) = detail_problems(WayDetails(way_up=WayUp.FLAT), cutting_type=None)
    assert problem.sentence.startswith("This is for leaf, root and scale cuttings: leave it blank")
    (problem,) = detail_problems(WayDetails(union_cm=3.0), cutting_type=None)
    assert "for grafts" in problem.sentence


def test_they_are_told_in_words() -> None:
    grafted = WayDetails(
        graft_method=GraftMethod.WHIP_AND_TONGUE,
        rootstock_id=1,
        rootstock_source="Farrow, lot 3",
        union_cm=15.0,
    )
    words = details_words(grafted, cutting_type=GRAFT, rootstock="Prunus 'Colt'")
    assert words == "whip and tongue, on Prunus 'Colt' (Farrow, lot 3), union at 15 cm"
    root = WayDetails(way_up=WayUp.RIGHT_WAY_UP)
    assert details_words(root, cutting_type=ROOT, rootstock="") == "right way up"
    assert details_words(root, cutting_type=CuttingType.SOFTWOOD, rootstock="") == ""


def test_plantlets_are_counted_of_pieces_only() -> None:
    assert plantlet_problem(None, cutting_type=None) is None
    assert plantlet_problem(0, cutting_type="scale") is None
    for kind, number in (("graft", 3), ("softwood", 3), ("", 3), ("root", 100_001)):
        problem = plantlet_problem(number, cutting_type=kind)
        assert problem is not None
        assert problem.field == "plantlets"


def test_plantlets_stand_to_each_piece_that_struck() -> None:
    """62 plantlets of 20 pieces are 3.1 each (computed); more than one each is as it should be."""
    assert plantlets_words(62, struck=20) == "62 plantlets, 3.1 to each piece that struck"
    assert plantlets_words(1, struck=0) == "1 plantlet"
