"""People: the one erasable table of personal data."""

from datetime import datetime

from sqlalchemy import Index, text
from sqlalchemy.orm import Mapped, mapped_column

from app.store.base import Base, UtcInstant
from app.store.versioned import Versioned


class Person(Versioned, Base):
    """Somebody who sticks, checks or reads. `key` is what history holds; the rest can be erased.

    `name_key` is the name folded for comparing, unique among people who are not erased.
    """

    __tablename__ = "people"
    __table_args__ = (
        Index(
            "uq_people_name_key",
            "name_key",
            unique=True,
            sqlite_where=text("erased_at IS NULL"),
            postgresql_where=text("erased_at IS NULL"),
        ),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    key: Mapped[str] = mapped_column(unique=True)
    name: Mapped[str]
    name_key: Mapped[str]
    notes: Mapped[str] = mapped_column(default="")
    erased_at: Mapped[datetime | None] = mapped_column(UtcInstant)
