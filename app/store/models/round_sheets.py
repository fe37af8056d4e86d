"""Rounds on paper: sheets with the order of their batches, and what was typed in from them."""

from datetime import date, datetime

from sqlalchemy import CheckConstraint, ForeignKey, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from app.store.base import Base, UtcInstant


class RoundSheet(Base):
    """A sheet as it was printed: what was late or due on a day, on one bench or on all."""

    __tablename__ = "round_sheets"

    id: Mapped[int] = mapped_column(primary_key=True)
    number: Mapped[int] = mapped_column(unique=True)
    listed_on: Mapped[date]
    bench_id: Mapped[int | None] = mapped_column(ForeignKey("benches.id"))
    made_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    made_at: Mapped[datetime] = mapped_column(UtcInstant)


class RoundSheetLine(Base):
    """A batch on a sheet, in the order they stood; `check_id` is what was typed in from it.

    `typed` keeps what was typed, so that the same form arriving again is known.
    """

    __tablename__ = "round_sheet_lines"
    __table_args__ = (
        UniqueConstraint("round_sheet_id", "position"),
        UniqueConstraint("round_sheet_id", "batch_id"),
        CheckConstraint("position > 0", name="position_from_one"),
        CheckConstraint("unrooted >= 0", name="unrooted_not_negative"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    round_sheet_id: Mapped[int] = mapped_column(ForeignKey("round_sheets.id"))
    position: Mapped[int]
    batch_id: Mapped[int] = mapped_column(ForeignKey("batches.id"), index=True)
    bench_id: Mapped[int | None] = mapped_column(ForeignKey("benches.id"))
    unrooted: Mapped[int]
    check_id: Mapped[int | None] = mapped_column(ForeignKey("checks.id"), unique=True)
    typed: Mapped[str] = mapped_column(default="")


class RoundSheetCause(Base):
    """A cause of loss with the number it has on a sheet."""

    __tablename__ = "round_sheet_causes"

    round_sheet_id: Mapped[int] = mapped_column(ForeignKey("round_sheets.id"), primary_key=True)
    number: Mapped[int] = mapped_column(primary_key=True)
    lost_cause_id: Mapped[int] = mapped_column(ForeignKey("lost_causes.id"))
