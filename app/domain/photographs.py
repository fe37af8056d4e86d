"""Photographs of a check or a stock plant: what is said of them and what may be."""

from dataclasses import dataclass, replace
from datetime import date
from typing import Final

from app.domain.batch_rights import OWN_DAYS
from app.domain.days import day_short
from app.domain.people import Actor
from app.domain.permissions import Permission, allowed
from app.domain.problems import NotAccepted, NotAllowed, Problem

LONGEST_CAPTION: Final = 200


@dataclass(frozen=True, kw_only=True)
class PictureFile:
    """One file of a photograph: the SHA-256 that names it, its bytes, its size in points."""

    sha256: str
    size: int
    width: int
    height: int


@dataclass(frozen=True, kw_only=True)
class PhotographFiles:
    """A photograph as it is kept: the large view and the small one."""

    large: PictureFile
    small: PictureFile


@dataclass(frozen=True, kw_only=True)
class PhotographEntry:
    """What is said of a photograph. It belongs to a check or to a stock plant, never to both."""

    check_id: int | None = None
    stock_plant_id: int | None = None
    taken_on: date
    taken_by_id: int | None = None
    caption: str = ""


def accepted_photograph(entry: PhotographEntry, *, today: date) -> PhotographEntry:
    """Return the entry with a tidy caption.

    Raises:
        NotAccepted: the day is still to come, or the caption is too long.
    """
    problems = []
    if entry.taken_on > today:
        sentence = "This day is still to come: give the day the photograph was taken."
        problems.append(Problem(field="taken_on", sentence=sentence))
    caption = " ".join(entry.caption.split())
    if len(caption) > LONGEST_CAPTION:
        sentence = f"Keep this within {LONGEST_CAPTION} letters."
        problems.append(Problem(field="caption", sentence=sentence))
    if problems:
        raise NotAccepted(tuple(problems))
    return replace(entry, caption=caption)


def alternative_text(
    *,
    plant: str,
    batch_code: str,
    checked_on: date | None,
    stock_plant_code: str,
    taken_on: date,
    today: date,
) -> str:
    """Return what a photograph shows by the record, for whoever cannot see it.

    Such as "Hebe 'Great Orme', batch 26-0147, checked Tue 24 Nov".
    """
    if checked_on is not None:
        when = day_short(checked_on, today=today)
        return f"{plant}, batch {batch_code}, checked {when}"
    when = day_short(taken_on, today=today)
    return f"{plant}, stock plant {stock_plant_code}, {when}"


def may_withdraw_photograph(
    actor: Actor, *, recorded_by_id: int | None, made_on: date, today: date
) -> bool:
    """Return whether the person may: a head, or who added it today or yesterday."""
    if allowed(actor.role, Permission.CORRECT_ANY):
        return True
    own = recorded_by_id == actor.person_id and allowed(actor.role, Permission.CORRECT_OWN)
    return own and (today - made_on).days <= OWN_DAYS


def refuse_foreign_photograph(
    actor: Actor, *, recorded_by_id: int | None, made_on: date, today: date
) -> None:
    """Let pass whoever may withdraw a photograph.

    Raises:
        NotAllowed: this person may not; the words say whom to ask.
    """
    if not may_withdraw_photograph(
        actor, recorded_by_id=recorded_by_id, made_on=made_on, today=today
    ):
        raise NotAllowed(
            "You can withdraw what you added yourself today or yesterday. Ask the head propagator "
            "to withdraw this one."
        )
