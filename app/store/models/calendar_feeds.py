"""Calendar addresses that are read without signing in."""

from datetime import datetime

from sqlalchemy import CheckConstraint, ForeignKey
from sqlalchemy.orm import Mapped, mapped_column

from app.store.base import Base, UtcInstant


class CalendarFeed(Base):
    """One person's address for the due checks of all benches, of one, or of what they stuck.

    The secret in the address is worked out from the program's key, the id and `renewals`: it lies
    in no table. An ended one answers nobody.
    """

    __tablename__ = "calendar_feeds"
    __table_args__ = (
        CheckConstraint("scope IN ('all', 'bench', 'own')", name="known_scope"),
        CheckConstraint("(scope = 'bench') = (bench_id IS NOT NULL)", name="bench_named"),
        CheckConstraint("renewals >= 0", name="renewals_not_negative"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    person_id: Mapped[int] = mapped_column(ForeignKey("people.id"), index=True)
    scope: Mapped[str]
    bench_id: Mapped[int | None] = mapped_column(ForeignKey("benches.id"))
    renewals: Mapped[int] = mapped_column(default=0)
    made_at: Mapped[datetime] = mapped_column(UtcInstant)
    ended_at: Mapped[datetime | None] = mapped_column(UtcInstant)
