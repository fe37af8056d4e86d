"""Techniques the head has signed off for somebody."""

from datetime import date, datetime

from sqlalchemy import CheckConstraint, ForeignKey, Index
from sqlalchemy.orm import Mapped, mapped_column

from app.store.base import Base, UtcInstant
from app.store.versioned import Versioned


class SignOff(Versioned, Base):
    """That a person has a technique in hand, signed on a day; withdrawn with a reason, never gone.

    A blank `genus` holds for every one. `note` and `withdrawn_reason` go when the person is erased.
    """

    __tablename__ = "sign_offs"
    __table_args__ = (
        CheckConstraint("technique <> ''", name="technique_said"),
        CheckConstraint(
            "(withdrawn_at IS NULL) = (withdrawn_by_id IS NULL)", name="withdrawn_by_somebody"
        ),
        Index("ix_sign_offs_person_id", "person_id"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    person_id: Mapped[int] = mapped_column(ForeignKey("people.id"))
    technique: Mapped[str]
    genus: Mapped[str] = mapped_column(default="")
    signed_on: Mapped[date]
    signed_by_id: Mapped[int] = mapped_column(ForeignKey("people.id"))
    made_at: Mapped[datetime] = mapped_column(UtcInstant)
    note: Mapped[str] = mapped_column(default="")
    withdrawn_at: Mapped[datetime | None] = mapped_column(UtcInstant)
    withdrawn_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    withdrawn_reason: Mapped[str] = mapped_column(default="")
