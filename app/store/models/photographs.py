"""Photographs of checks and stock plants; the pictures themselves are files named by hash."""

from datetime import date, datetime

from sqlalchemy import CheckConstraint, ForeignKey
from sqlalchemy.orm import Mapped, mapped_column

from app.store.base import Base, UtcInstant
from app.store.versioned import Versioned


class Photograph(Versioned, Base):
    """A photograph in two sizes, of a check or of a stock plant.

    `sha256` names the file of the large view, `small_sha256` that of the small one; two entries
    may name the same files. A withdrawn one stays readable on its own page.
    """

    __tablename__ = "photographs"
    __table_args__ = (
        CheckConstraint("(check_id IS NULL) <> (stock_plant_id IS NULL)", name="of_one_record"),
        CheckConstraint(
            "size > 0 AND width > 0 AND height > 0 AND small_size > 0 AND small_width > 0 "
            "AND small_height > 0",
            name="sizes_above_zero",
        ),
        CheckConstraint(
            "length(sha256) = 64 AND length(small_sha256) = 64", name="hashes_are_whole"
        ),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    check_id: Mapped[int | None] = mapped_column(ForeignKey("checks.id"), index=True)
    stock_plant_id: Mapped[int | None] = mapped_column(ForeignKey("stock_plants.id"), index=True)
    sha256: Mapped[str] = mapped_column(index=True)
    size: Mapped[int]
    width: Mapped[int]
    height: Mapped[int]
    small_sha256: Mapped[str] = mapped_column(index=True)
    small_size: Mapped[int]
    small_width: Mapped[int]
    small_height: Mapped[int]
    taken_on: Mapped[date]
    taken_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    caption: Mapped[str] = mapped_column(default="")
    recorded_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    made_at: Mapped[datetime] = mapped_column(UtcInstant)
    withdrawn_at: Mapped[datetime | None] = mapped_column(UtcInstant)
    withdrawn_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    withdraw_reason: Mapped[str] = mapped_column(default="")
