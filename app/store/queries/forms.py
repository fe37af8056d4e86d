"""Reads of the forms that were posted."""

from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.store.models.forms import PostedForm


@dataclass(frozen=True, kw_only=True)
class StoredForm:
    """A posted form: its key, who sent it where, the hash of what was typed, what became of it."""

    key: str
    person_id: int | None
    route: str
    body_hash: str
    result: str


def find_form(session: Session, *, key: str) -> StoredForm | None:
    """Return the form that was posted under this key, or None."""
    row = session.execute(
        select(
            PostedForm.key,
            PostedForm.person_id,
            PostedForm.route,
            PostedForm.body_hash,
            PostedForm.result,
        ).where(PostedForm.key == key)
    ).one_or_none()
    return None if row is None else StoredForm(**row._asdict())
