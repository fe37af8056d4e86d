"""Who may change what was entered of a batch."""

from datetime import date
from typing import Final

from app.domain.people import Actor
from app.domain.permissions import Permission, allowed
from app.domain.problems import NotAllowed

OWN_DAYS: Final = 1
"""An own entry can be corrected on the day it was made and on so many days after."""


def may_correct_batch(
    actor: Actor, *, recorded_by_id: int | None, made_on: date, today: date
) -> bool:
    """Return whether the person may correct or void a batch entered by somebody on a day."""
    if allowed(actor.role, Permission.CORRECT_ANY):
        return True
    own = recorded_by_id == actor.person_id and allowed(actor.role, Permission.CORRECT_OWN)
    return own and (today - made_on).days <= OWN_DAYS


def refuse_foreign_batch(
    actor: Actor, *, recorded_by_id: int | None, made_on: date, today: date
) -> None:
    """Let pass whoever may correct or void the batch.

    Raises:
        NotAllowed: this person may not; the words say whom to ask.
    """
    if may_correct_batch(actor, recorded_by_id=recorded_by_id, made_on=made_on, today=today):
        return
    raise NotAllowed(
        "You can correct what you entered yourself today or yesterday. Ask the head propagator to "
        "correct this batch."
    )
