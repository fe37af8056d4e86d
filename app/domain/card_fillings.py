"""A card's blanks filled with what is usual for its cutting type."""

from dataclasses import replace
from typing import Any

from app.domain.cutting_types import CuttingType
from app.domain.method_cards import CardValues, group_says
from app.domain.type_guides import Asked, TypeGuide, type_guide


def guide_for(values: CardValues, *, cutting_type: CuttingType) -> TypeGuide:
    """Return what is usual for a type where a card asks for these values."""
    asked = Asked(
        hormone=values.hormone_substance,
        cover=values.cover,
        cut=values.cut,
        weeks_low=values.weeks_low,
    )
    return type_guide(cutting_type, asked=asked)


def filled_from_guide(values: CardValues, *, guide: TypeGuide) -> CardValues:
    """Return the values with each group that says nothing filled from the guide."""
    length, leaves = guide.length_cm, guide.leaves
    usual: dict[str, dict[str, Any]] = {
        "steps": {"steps": guide.steps},
        "troubles": {"troubles": guide.troubles},
        **{name: {name: words} for name, words in guide.words.items()},
    }
    if length:
        usual["length"] = {"length_cm_low": float(length[0]), "length_cm_high": float(length[1])}
    if leaves:
        usual["leaves"] = {"leaves_low": leaves[0], "leaves_high": leaves[1]}
    blank = {
        name: value
        for group, fields in usual.items()
        if not group_says(values, group=group)
        for name, value in fields.items()
    }
    return replace(values, **blank)
