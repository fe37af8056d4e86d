"""Holds: what is suspected of a stock plant or batch, and what is held because of it."""

from datetime import date, datetime

from sqlalchemy import CheckConstraint, ForeignKey, Index, text
from sqlalchemy.orm import Mapped, mapped_column

from app.store.base import Base, UtcInstant
from app.store.versioned import Versioned

_STILL_HELD = text("lifted_at IS NULL")


class Hold(Versioned, Base):
    """A suspicion and what it holds; `number` gives the code H-0001.

    It begins at a stock plant or a batch, suspected since `since_on` if that is known. `ways` are
    those by which what it reaches was looked for, with commas between.
    """

    __tablename__ = "holds"
    __table_args__ = (
        CheckConstraint("(stock_plant_id IS NULL) <> (batch_id IS NULL)", name="one_suspect"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    number: Mapped[int] = mapped_column(unique=True)
    stock_plant_id: Mapped[int | None] = mapped_column(ForeignKey("stock_plants.id"), index=True)
    batch_id: Mapped[int | None] = mapped_column(ForeignKey("batches.id"), index=True)
    suspected: Mapped[str]
    since_on: Mapped[date | None]
    ways: Mapped[str]
    placed_on: Mapped[date]
    placed_at: Mapped[datetime] = mapped_column(UtcInstant)
    placed_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    lifted_at: Mapped[datetime | None] = mapped_column(UtcInstant)
    lifted_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    lift_reason: Mapped[str] = mapped_column(default="")


class HoldItem(Base):
    """One stock plant or batch held by a hold, and the way by which it was found.

    `state_before` and `reason_before` are those a stock plant goes back to once nothing holds it.
    """

    __tablename__ = "hold_items"
    __table_args__ = (
        CheckConstraint("(stock_plant_id IS NULL) <> (batch_id IS NULL)", name="one_thing"),
        Index(
            "ix_hold_items_batch_held",
            "batch_id",
            sqlite_where=_STILL_HELD,
            postgresql_where=_STILL_HELD,
        ),
        Index(
            "ix_hold_items_stock_plant_held",
            "stock_plant_id",
            sqlite_where=_STILL_HELD,
            postgresql_where=_STILL_HELD,
        ),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    hold_id: Mapped[int] = mapped_column(ForeignKey("holds.id"), index=True)
    stock_plant_id: Mapped[int | None] = mapped_column(ForeignKey("stock_plants.id"))
    batch_id: Mapped[int | None] = mapped_column(ForeignKey("batches.id"))
    way: Mapped[str]
    state_before: Mapped[str] = mapped_column(default="")
    reason_before: Mapped[str] = mapped_column(default="")
    held_at: Mapped[datetime] = mapped_column(UtcInstant)
    lifted_at: Mapped[datetime | None] = mapped_column(UtcInstant)
    lifted_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    lift_reason: Mapped[str] = mapped_column(default="")
