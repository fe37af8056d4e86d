"""Orders: plants wanted by a day, and the batches stuck for them."""

from datetime import date, datetime

from sqlalchemy import CheckConstraint, ForeignKey
from sqlalchemy.orm import Mapped, mapped_column

from app.store.base import Base, UtcInstant
from app.store.versioned import Versioned


class OrderRow(Versioned, Base):
    """So many plants of a name, or of any plant of a genus, by a day; known by its number."""

    __tablename__ = "orders"
    __table_args__ = (
        CheckConstraint("(plant_name_id IS NULL) <> (genus_id IS NULL)", name="one_plant"),
        CheckConstraint("plants > 0", name="plants_positive"),
        CheckConstraint("sure_share > 0 AND sure_share < 1", name="sure_range"),
        CheckConstraint(
            "enough_per_place >= 1 AND per_place >= enough_per_place", name="places_in_order"
        ),
        CheckConstraint("batches >= 1", name="batches_positive"),
        CheckConstraint("window_weeks >= 1", name="window_positive"),
        CheckConstraint(
            "ready_share IS NULL OR (ready_share > 0 AND ready_share <= 1)", name="ready_range"
        ),
        CheckConstraint("weaning_days IS NULL OR weaning_days >= 0", name="weaning_not_negative"),
        CheckConstraint("place IN ('plug', 'pot')", name="known_place"),
        CheckConstraint("state IN ('open', 'met', 'closed')", name="known_state"),
        CheckConstraint("(state = 'open') = (ended_on IS NULL)", name="ended_when_not_open"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    number: Mapped[int] = mapped_column(unique=True)
    plant_name_id: Mapped[int | None] = mapped_column(ForeignKey("plant_names.id"))
    genus_id: Mapped[int | None] = mapped_column(ForeignKey("genera.id"))
    plants: Mapped[int]
    due_on: Mapped[date]
    sure_share: Mapped[float] = mapped_column(default=0.9)
    place: Mapped[str] = mapped_column(default="plug")
    per_place: Mapped[int] = mapped_column(default=1)
    enough_per_place: Mapped[int] = mapped_column(default=1)
    for_whom: Mapped[str] = mapped_column(default="")
    cutting_type: Mapped[str] = mapped_column(default="")
    hormone_id: Mapped[int | None] = mapped_column(ForeignKey("hormones.id"))
    batches: Mapped[int] = mapped_column(default=3)
    window_weeks: Mapped[int] = mapped_column(default=3)
    ready_share: Mapped[float | None]
    weaning_days: Mapped[int | None]
    state: Mapped[str] = mapped_column(default="open")
    ended_on: Mapped[date | None]
    ended_reason: Mapped[str] = mapped_column(default="")
    made_at: Mapped[datetime] = mapped_column(UtcInstant)
    notes: Mapped[str] = mapped_column(default="")


class OrderBatch(Base):
    """A batch that counts to an order; it counts to one at most, so that none is promised twice."""

    __tablename__ = "order_batches"

    batch_id: Mapped[int] = mapped_column(ForeignKey("batches.id"), primary_key=True)
    order_id: Mapped[int] = mapped_column(ForeignKey("orders.id"), index=True)


class OrderOutlookRow(Base):
    """How an open order stands, worked out on a day from the batches as they were.

    `data_version` is that of the batches. `chance` is NULL where nothing is forecast yet.
    """

    __tablename__ = "order_outlooks"
    __table_args__ = (
        CheckConstraint("unlikely IN (0, 1)", name="unlikely_flag"),
        CheckConstraint("chance IS NULL OR (chance >= 0 AND chance <= 1)", name="chance_range"),
    )

    order_id: Mapped[int] = mapped_column(ForeignKey("orders.id"), primary_key=True)
    data_version: Mapped[int]
    worked_out_on: Mapped[date]
    batches: Mapped[int]
    stuck: Mapped[int]
    rooted: Mapped[int]
    unrooted: Mapped[int]
    potted: Mapped[int]
    chance: Mapped[float | None]
    expected: Mapped[int]
    low: Mapped[int]
    high: Mapped[int]
    unlikely: Mapped[int] = mapped_column(default=0)
    mend_stick: Mapped[int | None]
    mend_by_on: Mapped[date | None]
    mend_refusal: Mapped[str] = mapped_column(default="")
