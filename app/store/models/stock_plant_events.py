"""What happens to stock plants, by day."""

from datetime import date, datetime

from sqlalchemy import CheckConstraint, ForeignKey, Index
from sqlalchemy.orm import Mapped, mapped_column

from app.store.base import Base, UtcInstant
from app.store.versioned import Versioned


class StockPlantEvent(Versioned, Base):
    """A count, a cutting back, a renewal, a test, a look for truth to type, or an inspection.

    `until_on` is the day by which to look, test or renew again. `stands` is 1 while it tells how
    the plant is now. A withdrawn one was entered by mistake: it stays readable and counts for
    nothing.
    """

    __tablename__ = "stock_plant_events"
    __table_args__ = (
        CheckConstraint(
            "kind IN ('counted', 'cut back', 'renewed', 'renewal set', 'tested', 'true to type', "
            "'inspected')",
            name="known_kind",
        ),
        CheckConstraint("result IN ('', 'good', 'in doubt', 'bad')", name="known_result"),
        CheckConstraint("plants IS NULL OR plants >= 0", name="plants_not_negative"),
        CheckConstraint("stands IN (0, 1)", name="stands_flag"),
        CheckConstraint("stands = 0 OR withdrawn_at IS NULL", name="withdrawn_stands_not"),
        Index("ix_stock_plant_events_stock_plant_id", "stock_plant_id", "happened_on"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    stock_plant_id: Mapped[int] = mapped_column(ForeignKey("stock_plants.id"))
    kind: Mapped[str]
    happened_on: Mapped[date]
    by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    plants: Mapped[int | None]
    about: Mapped[str] = mapped_column(default="")
    result: Mapped[str] = mapped_column(default="")
    finding: Mapped[str] = mapped_column(default="")
    until_on: Mapped[date | None]
    note: Mapped[str] = mapped_column(default="")
    stands: Mapped[int] = mapped_column(default=0)
    recorded_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    made_at: Mapped[datetime] = mapped_column(UtcInstant)
    withdrawn_at: Mapped[datetime | None] = mapped_column(UtcInstant)
    withdrawn_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    withdraw_reason: Mapped[str] = mapped_column(default="")
