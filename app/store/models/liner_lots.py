"""Liner lots: what was potted up from a batch, and the stages it went through."""

from datetime import date

from sqlalchemy import CheckConstraint, ForeignKey
from sqlalchemy.orm import Mapped, mapped_column

from app.store.base import Base
from app.store.versioned import Versioned


class LinerLot(Versioned, Base):
    """Rooted cuttings of one batch that were potted up together."""

    __tablename__ = "liner_lots"
    __table_args__ = (CheckConstraint("number > 0", name="number_positive"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    batch_id: Mapped[int] = mapped_column(ForeignKey("batches.id"), index=True)
    began_on: Mapped[date]
    number: Mapped[int]
    container_id: Mapped[int | None] = mapped_column(ForeignKey("containers.id"))
    mix_lot_id: Mapped[int | None] = mapped_column(ForeignKey("mix_lots.id"))
    notes: Mapped[str] = mapped_column(default="")


class LinerStage(Base):
    """A stage a lot reached on a day, how many were there, and how many were lost since."""

    __tablename__ = "liner_stages"
    __table_args__ = (CheckConstraint("number >= 0 AND lost >= 0", name="counts_not_negative"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    liner_lot_id: Mapped[int] = mapped_column(ForeignKey("liner_lots.id"), index=True)
    stage: Mapped[str]
    reached_on: Mapped[date]
    number: Mapped[int]
    lost: Mapped[int] = mapped_column(default=0)
    lost_cause_id: Mapped[int | None] = mapped_column(ForeignKey("lost_causes.id"))
    person_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    notes: Mapped[str] = mapped_column(default="")
