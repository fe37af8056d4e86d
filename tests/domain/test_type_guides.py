"""What is usual for each cutting type: steps with reasons, troubles with signs.

The words are this program's own, common practice, no source. Daily and weekly looks: K. A. Longman
1993, Rooting Cuttings of Tropical Trees, Commonwealth Science Council, sheet A 50 (confirmed).
"""

import pytest

from app.domain.batches import is_uncovered
from app.domain.card_fillings import filled_from_guide, guide_for
from app.domain.cutting_types import Cut, CuttingType
from app.domain.hormones import NO_HORMONE
from app.domain.method_cards import CardValues, accepted_values
from app.domain.standings import COMMON_PRACTICE
from app.domain.starting_cards import starting_cards
from app.domain.type_guides import CHECKS_STANDING, Asked, type_guide

TYPES = (
    CuttingType.SOFTWOOD,
    CuttingType.GREENWOOD,
    CuttingType.SEMI_RIPE,
    CuttingType.RIPEWOOD,
    CuttingType.HARDWOOD,
    CuttingType.LEAF_BUD,
    CuttingType.LEAF,
    CuttingType.SCALE,
    CuttingType.ROOT,
    CuttingType.DIVISION,
    CuttingType.GRAFT,
)


@pytest.mark.parametrize("cutting_type", TYPES)
def test_every_type_has_steps_with_their_reasons_and_troubles_with_their_signs(
    cutting_type: CuttingType,
) -> None:
    guide = type_guide(cutting_type, asked=Asked())
    assert len(guide.steps) >= 5
    assert all(one.step and one.reason for one in guide.steps)
    assert len(guide.troubles) >= 3
    assert all(one.what and one.signs and one.do for one in guide.troubles)
    assert {"material", "aftercare", "light", "checks"} <= guide.words.keys()
    assert guide.standings["steps"] == guide.standings["troubles"] == COMMON_PRACTICE
    assert guide.standings["checks"] == CHECKS_STANDING


def said(asked: Asked, cutting_type: CuttingType = CuttingType.SOFTWOOD) -> str:
    guide = type_guide(cutting_type, asked=asked)
    return " ".join(one.step for one in guide.steps)


def test_the_steps_follow_what_the_card_asks_for() -> None:
    assert "Use no rooting hormone" in said(Asked(hormone=NO_HORMONE))
    assert "dip the lowest" in said(Asked(hormone="IBA"))
    assert "leave uncovered" in said(Asked(cover="none"))
    assert "cover or mist at once" in said(Asked(cover="mist"))
    assert "between two nodes" in said(Asked(cut=Cut.INTERNODAL))
    assert "below a node" in said(Asked())
    assert "small heel" in said(Asked(cut=Cut.HEEL), CuttingType.SEMI_RIPE)


def test_the_first_look_for_roots_goes_by_the_weeks_on_the_card() -> None:
    checks = type_guide(CuttingType.SOFTWOOD, asked=Asked(weeks_low=4)).words["checks"]
    assert "after 4 weeks" in checks
    assert "Every day" in checks
    assert "Every week" in checks
    lined_out = type_guide(CuttingType.HARDWOOD, asked=Asked(cover="none")).words["checks"]
    assert "after every frost" in lined_out
    assert "count in autumn" in lined_out


def test_every_starting_card_says_all_of_it_and_contradicts_itself_nowhere() -> None:
    for one in starting_cards():
        values = one.entry.values
        assert accepted_values(values) == values
        for group in ("material", "light", "aftercare", "checks", "steps", "troubles"):
            assert getattr(values, group), (one.entry.genus, group)
            assert one.standings[group]
        steps = " ".join(step.step for step in values.steps)
        assert ("no rooting hormone" in steps) == (values.hormone_substance == NO_HORMONE)
        if is_uncovered(values.cover):
            assert "cover or mist" not in steps.lower()


def test_what_a_card_says_is_never_filled_over() -> None:
    own = CardValues(material="My own shoots.", length_cm_low=3, length_cm_high=3)
    guide = guide_for(own, cutting_type=CuttingType.SOFTWOOD)
    filled = filled_from_guide(own, guide=guide)
    assert (filled.material, filled.length_cm_low) == ("My own shoots.", 3)
    assert filled.steps == guide.steps
    assert (filled.leaves_low, filled.leaves_high) == (2, 3)
