"""The history: one line per change, each sealed by a hash over the line before."""

from datetime import datetime

from sqlalchemy import Index
from sqlalchemy.orm import Mapped, mapped_column

from app.store.base import Base, UtcInstant


class HistoryLine(Base):
    """Who did what to which record and when. Append-only by trigger; holds no name of a person."""

    __tablename__ = "history"
    __table_args__ = (Index("ix_history_subject", "subject", "sequence"),)

    sequence: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    at: Mapped[datetime] = mapped_column(UtcInstant)
    actor_key: Mapped[str] = mapped_column(default="")
    what: Mapped[str]
    subject: Mapped[str]
    change: Mapped[str]
    previous_hash: Mapped[str]
    hash: Mapped[str] = mapped_column(unique=True)
