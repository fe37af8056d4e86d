"""Dispatches: plants that left the nursery."""

from datetime import date, datetime
from typing import Any

from sqlalchemy import JSON, CheckConstraint, ForeignKey, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from app.store.base import Base, UtcInstant
from app.store.versioned import Versioned


class Dispatch(Versioned, Base):
    """Plants that left on a day, and to whom; `number` gives the code G-0001.

    A withdrawn one was entered by mistake: it stays readable, and its plants are back in their
    lots.
    """

    __tablename__ = "dispatches"
    __table_args__ = (CheckConstraint("withdrawn IN (0, 1)", name="withdrawn_flag"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    number: Mapped[int] = mapped_column(unique=True)
    sent_on: Mapped[date]
    to_name: Mapped[str]
    reference: Mapped[str] = mapped_column(default="")
    notes: Mapped[str] = mapped_column(default="")
    made_at: Mapped[datetime] = mapped_column(UtcInstant)
    recorded_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    withdrawn: Mapped[int] = mapped_column(default=0)
    withdrawn_at: Mapped[datetime | None] = mapped_column(UtcInstant)
    withdrawn_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    withdraw_reason: Mapped[str] = mapped_column(default="")


class DispatchLine(Base):
    """So many plants of a liner lot in a dispatch, as the lot's stage "sent out".

    `made` are the ids of all stages that the line made, so that it can be taken back: more than
    one where rooted cuttings left in the trays of their batch.
    """

    __tablename__ = "dispatch_lines"
    __table_args__ = (UniqueConstraint("dispatch_id", "position"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    dispatch_id: Mapped[int] = mapped_column(ForeignKey("dispatches.id"))
    position: Mapped[int]
    liner_stage_id: Mapped[int] = mapped_column(ForeignKey("liner_stages.id"), unique=True)
    made: Mapped[list[Any]] = mapped_column(JSON, default=list)
