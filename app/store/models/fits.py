"""What was learned from the batches, kept until they change, and what it says of open ones."""

from datetime import date, datetime
from typing import Any

from sqlalchemy import JSON, CheckConstraint, ForeignKey, LargeBinary
from sqlalchemy.orm import Mapped, mapped_column

from app.store.base import Base, UtcInstant


class FitRow(Base):
    """The newest fit: `data_version` is that of the batches it was made from."""

    __tablename__ = "fits"
    __table_args__ = (CheckConstraint("id = 1", name="one_row"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    data_version: Mapped[int]
    fitted_at: Mapped[datetime] = mapped_column(UtcInstant)
    payload: Mapped[bytes] = mapped_column(LargeBinary)


class OutlookRow(Base):
    """What is expected of an open batch from its last count on.

    `new_by[d]` is how many are expected to have newly rooted d days after `from_on`; `ever` how
    many still will. `finish` is 1 where hardly anything more is expected. `leans_on` is how many
    finished batches of the genus it rests on.
    """

    __tablename__ = "outlooks"
    __table_args__ = (CheckConstraint("finish IN (0, 1)", name="finish_flag"),)

    batch_id: Mapped[int] = mapped_column(ForeignKey("batches.id"), primary_key=True)
    from_on: Mapped[date]
    new_by: Mapped[list[Any]] = mapped_column(JSON)
    ever: Mapped[float]
    finish: Mapped[int] = mapped_column(default=0)
    leans_on: Mapped[int] = mapped_column(default=0)
