"""Forms that were posted, so that the same one sent twice is stored once."""

from datetime import datetime

from sqlalchemy import ForeignKey
from sqlalchemy.orm import Mapped, mapped_column

from app.store.base import Base, UtcInstant


class PostedForm(Base):
    """A form's key with what became of it; kept 400 days."""

    __tablename__ = "posted_forms"

    key: Mapped[str] = mapped_column(primary_key=True)
    person_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    route: Mapped[str]
    body_hash: Mapped[str]
    result: Mapped[str]
    posted_at: Mapped[datetime] = mapped_column(UtcInstant, index=True)
