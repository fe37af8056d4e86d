"""The causes and signs of rooting a nursery begins with (common practice, no source)."""

import pytest

from app.domain.cutting_types import CuttingType
from app.domain.lost_causes import DEFAULT_CAUSES, MISSING, SPREADING, cause_name
from app.domain.problems import NotAccepted
from app.domain.rooted_signs import RootedSign, usual_sign


def test_the_list_to_begin_with() -> None:
    assert len(set(DEFAULT_CAUSES)) == len(DEFAULT_CAUSES) == 16
    assert MISSING in DEFAULT_CAUSES
    assert set(DEFAULT_CAUSES) >= SPREADING
    assert all(cause_name(cause) == cause for cause in DEFAULT_CAUSES)


@pytest.mark.parametrize(
    ("typed", "kept"),
    [("  Vine   weevil ", "vine weevil"), ("TSWV", "TSWV"), ("mice", "mice")],
)
def test_a_cause_is_kept_tidy(typed: str, kept: str) -> None:
    assert cause_name(typed) == kept


@pytest.mark.parametrize("typed", ["", " ", "x", "12", "a" * 61])
def test_a_cause_that_names_nothing_is_refused(typed: str) -> None:
    with pytest.raises(NotAccepted, match="Name the cause") as refusal:
        cause_name(typed)
    assert refusal.value.problems[0].field == "name"


@pytest.mark.parametrize(
    ("cutting_type", "plug", "sign"),
    [
        (CuttingType.SOFTWOOD, False, RootedSign.HOLDS),
        (CuttingType.SOFTWOOD, True, RootedSign.PLUG_LIFTS),
        (CuttingType.HARDWOOD, True, RootedSign.ROOTS_SEEN),
        (CuttingType.ROOT, False, RootedSign.ROOTS_SEEN),
        (CuttingType.DIVISION, False, RootedSign.ALIVE),
        (CuttingType.GRAFT, False, RootedSign.TAKEN),
        (None, False, RootedSign.HOLDS),
    ],
)
def test_each_type_has_its_usual_sign(
    cutting_type: CuttingType | None, plug: bool, sign: RootedSign
) -> None:
    assert usual_sign(cutting_type, plug=plug) is sign
