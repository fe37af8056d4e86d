"""Entries that waited on a device until the log received them."""

from datetime import datetime

from sqlalchemy import CheckConstraint, ForeignKey
from sqlalchemy.orm import Mapped, mapped_column

from app.store.base import Base, UtcInstant


class WaitedEntryRow(Base):
    """When a check or a batch was recorded on a device, as that device says; only added to."""

    __tablename__ = "waited_entries"
    __table_args__ = (
        CheckConstraint("(check_id IS NULL) <> (batch_id IS NULL)", name="of_one_record"),
        CheckConstraint("doubtful IN (0, 1)", name="doubtful_flag"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    check_id: Mapped[int | None] = mapped_column(ForeignKey("checks.id"), unique=True)
    batch_id: Mapped[int | None] = mapped_column(ForeignKey("batches.id"), unique=True)
    recorded_at: Mapped[datetime] = mapped_column(UtcInstant)
    received_at: Mapped[datetime] = mapped_column(UtcInstant)
    doubtful: Mapped[int] = mapped_column(default=0)
    mark: Mapped[str] = mapped_column(default="", index=True)
