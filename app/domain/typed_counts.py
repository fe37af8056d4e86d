"""Counts as they are typed at the bench: rooted as new, as all so far or as what is left.

Whichever is typed, the other two are worked out from where the batch stood before the check. A
count of the unrooted that comes out short is asked about before the difference is called missing.
"""

from dataclasses import dataclass
from enum import StrEnum

from app.domain.lost_causes import MISSING
from app.domain.outcomes import Loss, Standing, cuttings, gone_words
from app.domain.problems import NotAccepted, Problem


class RootedAs(StrEnum):
    """What the number typed for rooted means."""

    NEW = "new"
    SO_FAR = "all so far"
    LEFT = "what is left"


@dataclass(frozen=True, kw_only=True)
class RootedCount:
    """One count said three ways: newly rooted, rooted so far, and left unrooted."""

    new: int
    so_far: int
    left: int


class MissingAsked(NotAccepted):
    """The unrooted were counted short; saving again with a yes logs `missing` as missing."""

    def __init__(self, problems: tuple[Problem, ...], missing: int) -> None:
        super().__init__(problems)
        self.missing = missing


def rooted_count(typed: int, *, typed_as: RootedAs, before: Standing, lost: int) -> RootedCount:
    """Return the count typed, said three ways, when `lost` are newly lost at the same check.

    Raises:
        NotAccepted: it contradicts what was rooted, lost or unrooted before this check.
    """
    open_now = before.unrooted - lost
    if open_now < 0:
        raise NotAccepted.at("lost", _too_many_lost(before, lost=lost))
    new = {
        RootedAs.NEW: typed,
        RootedAs.SO_FAR: typed - before.rooted,
        RootedAs.LEFT: open_now - typed,
    }[typed_as]
    if typed < 0 or new < 0 or new > open_now:
        raise NotAccepted.at("rooted", _impossible(typed, typed_as, before=before, lost=lost))
    return RootedCount(new=new, so_far=before.rooted + new, left=open_now - new)


def with_missing(
    lost: tuple[Loss, ...], *, counted_left: int | None, count: RootedCount, confirmed: int | None
) -> tuple[Loss, ...]:
    """Return the losses, with those missing from a count of the unrooted added once confirmed.

    `confirmed` is the number that somebody said is missing.

    Raises:
        MissingAsked: fewer were counted than should be left, and nobody confirmed that number yet.
        NotAccepted: more were counted than can be left.
    """
    if counted_left is None or counted_left == count.left:
        return lost
    missing = count.left - counted_left
    if missing < 0:
        sentence = (
            f"At most {count.left:,} can be left, but {counted_left:,} were counted. Count again: "
            "either fewer rooted or were lost than typed, or an earlier check needs correcting."
        )
        raise NotAccepted.at("unrooted_counted", sentence)
    if confirmed != missing:
        sentence = (
            f"{count.left:,} should be left, but {counted_left:,} were counted: "
            f"{cuttings(missing)} not accounted for. Count again, or say that they are missing."
        )
        problem = Problem(field="unrooted_counted", sentence=sentence)
        raise MissingAsked((problem,), missing)
    return (*lost, Loss(cause=MISSING, number=missing))


def _too_many_lost(before: Standing, *, lost: int) -> str:
    return (
        f"{gone_words(before)} leave {before.unrooted:,} of {before.stuck:,} unrooted; you cannot "
        f"add {lost:,} lost. Count again, or correct an earlier check."
    )


def _impossible(typed: int, typed_as: RootedAs, *, before: Standing, lost: int) -> str:
    if typed < 0:
        return "Give a number from 0 upwards."
    if typed_as is RootedAs.SO_FAR and typed < before.rooted:
        return (
            f"{before.rooted:,} were rooted already, so all so far cannot be {typed:,}. Count "
            "again, or correct the earlier check."
        )
    losing = f" and {lost:,} newly lost" if lost else ""
    if typed_as is RootedAs.LEFT:
        return (
            f"{before.unrooted:,} were unrooted before{losing}, so at most "
            f"{before.unrooted - lost:,} can be left, not {typed:,}."
        )
    new = typed - before.rooted if typed_as is RootedAs.SO_FAR else typed
    return (
        f"{gone_words(before)} leave {before.unrooted:,} of {before.stuck:,} unrooted; with "
        f"{new:,} newly rooted{losing} it would be more than that. Count again, or correct an "
        "earlier check."
    )
