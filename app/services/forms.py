"""Remember a posted form with its result, so that the same one sent twice is stored once."""

from dataclasses import asdict
from datetime import datetime, timedelta
from typing import Final

from sqlalchemy import delete
from sqlalchemy.orm import Session

from app.store.models.forms import PostedForm
from app.store.queries.forms import StoredForm

KEPT_FOR: Final = timedelta(days=400)


def keep_form(session: Session, *, form: StoredForm, now: datetime) -> None:
    """Store the form's key and result in the transaction of what it changed.

    Forms posted more than 400 days ago are forgotten on the way.
    """
    session.add(PostedForm(**asdict(form), posted_at=now))
    session.execute(delete(PostedForm).where(PostedForm.posted_at < now - KEPT_FOR))
    session.flush()
