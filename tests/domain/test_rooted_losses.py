"""When the nursery's own losses after rooting take the place of the stated assumption.

How many batches are enough is common practice, no source.
"""

import pytest

from app.domain.rooted_losses import OwnReady, RootedSums, own_ready

NONE = RootedSums()


def test_too_few_batches_leave_the_assumption() -> None:
    few = RootedSums(batches=5, ready=90, lost=10)
    assert own_ready(genus="Hebe", of_genus=few, of_nursery=few) is None


def test_a_genus_speaks_for_itself_once_it_has_enough() -> None:
    own = RootedSums(batches=6, ready=90, lost=30)
    every = RootedSums(batches=40, ready=990, lost=10)
    assert own_ready(genus="Hebe", of_genus=own, of_nursery=every) == OwnReady(
        share=0.75, standing="from 6 batches of Hebe here"
    )


def test_else_the_whole_nursery_speaks() -> None:
    every = RootedSums(batches=12, ready=880, lost=120)
    assert own_ready(genus="Hebe", of_genus=NONE, of_nursery=every) == OwnReady(
        share=0.88, standing="from 12 batches of this nursery, whatever the genus"
    )


@pytest.mark.parametrize(
    ("sums", "share"),
    [(RootedSums(batches=9, ready=0, lost=200), 0.05), (RootedSums(batches=9), 1.0)],
)
def test_a_plan_can_always_be_made_with_it(sums: RootedSums, share: float) -> None:
    assert sums.share == share
