"""A person beside the others: the same work held alike, in all and by cutting type.

The counts are made up, so that what must come out is plain: one method's batches strike as the
others' of that method do, a person's softwood strikes half as well.
"""

import numpy as np

from app.domain.comparisons_batches import LoggedBatches, known_outcomes
from app.domain.cutting_types import CuttingType
from app.domain.fit_records import type_code
from app.domain.standouts import LabelledBatches
from app.domain.training_comparisons import PersonCompared, compare_person

SOFT, SEMI = type_code(CuttingType.SOFTWOOD.value), type_code(CuttingType.SEMI_RIPE.value)


def compared(own_soft: int, own_semi: int, *, person: int = 1) -> PersonCompared:
    """Ten batches of 50 by each of three people, half softwood; person 1 roots as told."""
    people = np.repeat([1, 2, 3], 10)
    types = np.tile(np.repeat([SOFT, SEMI], 5), 3)
    rooted = np.where(types == SOFT, 40, 20)
    rooted[(people == 1) & (types == SOFT)] = own_soft
    rooted[(people == 1) & (types == SEMI)] = own_semi
    count = len(people)
    batches = LoggedBatches(
        batch_ids=np.arange(count),
        genus=np.ones(count, dtype=np.int64),
        cutting_type=types.astype(np.int64),
        hormone=np.ones(count, dtype=np.int64),
        month=np.full(count, 6),
        person=people.astype(np.int64),
        stuck=np.full(count, 50),
        rooted=rooted.astype(np.int64),
        unknown=np.zeros(count, dtype=np.int64),
    )
    return compare_person(
        batches,
        labelled=LabelledBatches(rows=np.arange(count), labels=people.astype(np.int64)),
        person_id=person,
        outcomes=known_outcomes(batches, fit=None),
        correlation=0.12,
    )


def test_who_does_as_the_others_is_told_so_by_type_as_well() -> None:
    found = compared(40, 20)
    assert found.whole is not None
    assert abs(found.whole.difference) < 0.01
    told = {line.label: (line.batches, line.rooted, line.expected) for line in found.types}
    assert told == {"softwood": (5, "80 %", "80 %"), "semi-ripe": (5, "40 %", "40 %")}


def test_what_goes_badly_shows_at_its_type_and_not_at_the_other() -> None:
    found = compared(20, 20)
    assert found.whole is not None
    assert found.whole.difference < -0.1
    told = {line.label: (line.rooted, line.expected) for line in found.types}
    assert told["softwood"] == ("40 %", "80 %")
    assert told["semi-ripe"] == ("40 %", "40 %")


def test_nobody_else_and_no_batches_say_nothing() -> None:
    assert compared(40, 20, person=9) == PersonCompared(whole=None)
