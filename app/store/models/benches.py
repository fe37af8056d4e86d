"""Benches in walking order, and what stood where from when to when."""

from datetime import date, datetime
from typing import Any

from sqlalchemy import JSON, CheckConstraint, ForeignKey, Index, text
from sqlalchemy.orm import Mapped, mapped_column

from app.store.base import Base, UtcInstant
from app.store.versioned import Versioned

_STILL_THERE = text("to_on IS NULL")


class Bench(Versioned, Base):
    """A bench, bed or frame. `walking_order` sorts the round; capacity is in trays."""

    __tablename__ = "benches"
    __table_args__ = (CheckConstraint("capacity_trays >= 0", name="capacity_not_negative"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(unique=True)
    walking_order: Mapped[int] = mapped_column(default=0)
    capacity_trays: Mapped[int | None]
    notes: Mapped[str] = mapped_column(default="")
    closed_at: Mapped[datetime | None] = mapped_column(UtcInstant)


class BenchStay(Base):
    """A batch, some of its trays, a stock plant or a liner lot, on a bench.

    No `to_on` means still there.
    """

    __tablename__ = "bench_stays"
    __table_args__ = (
        CheckConstraint(
            "(CASE WHEN batch_id IS NULL THEN 0 ELSE 1 END) + "
            "(CASE WHEN stock_plant_id IS NULL THEN 0 ELSE 1 END) + "
            "(CASE WHEN liner_lot_id IS NULL THEN 0 ELSE 1 END) = 1",
            name="one_thing",
        ),
        CheckConstraint("to_on IS NULL OR to_on >= from_on", name="in_order"),
        CheckConstraint("trays IS NULL OR trays > 0", name="trays_positive"),
        Index(
            "ix_bench_stays_batch_now",
            "batch_id",
            sqlite_where=_STILL_THERE,
            postgresql_where=_STILL_THERE,
        ),
        Index(
            "ix_bench_stays_bench_now",
            "bench_id",
            sqlite_where=_STILL_THERE,
            postgresql_where=_STILL_THERE,
        ),
        Index("ix_bench_stays_batch_id", "batch_id"),
        Index("ix_bench_stays_stock_plant_id", "stock_plant_id"),
        Index("ix_bench_stays_liner_lot_id", "liner_lot_id"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    batch_id: Mapped[int | None] = mapped_column(ForeignKey("batches.id"))
    stock_plant_id: Mapped[int | None] = mapped_column(ForeignKey("stock_plants.id"))
    liner_lot_id: Mapped[int | None] = mapped_column(ForeignKey("liner_lots.id"))
    bench_id: Mapped[int] = mapped_column(ForeignKey("benches.id"))
    trays: Mapped[int | None]
    from_on: Mapped[date]
    to_on: Mapped[date | None]


class BenchPlace(Base):
    """The place of a batch in the order things stand on a bench, 1 for the first."""

    __tablename__ = "bench_places"
    __table_args__ = (CheckConstraint("position > 0", name="position_positive"),)

    bench_id: Mapped[int] = mapped_column(ForeignKey("benches.id"), primary_key=True)
    batch_id: Mapped[int] = mapped_column(ForeignKey("batches.id"), primary_key=True, index=True)
    position: Mapped[int]


class BenchMove(Base):
    """Many batches moved off a bench at once; no `to_bench_id` means off the benches.

    `made` holds by batch which stays the move ended and began, and the newest stay after it, so
    that it can be taken back as a whole.
    """

    __tablename__ = "bench_moves"

    id: Mapped[int] = mapped_column(primary_key=True)
    key: Mapped[str] = mapped_column(unique=True)
    from_bench_id: Mapped[int] = mapped_column(ForeignKey("benches.id"))
    to_bench_id: Mapped[int | None] = mapped_column(ForeignKey("benches.id"))
    moved_on: Mapped[date]
    made_at: Mapped[datetime] = mapped_column(UtcInstant)
    recorded_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    made: Mapped[list[Any]] = mapped_column(JSON, default=list)
    undone_at: Mapped[datetime | None] = mapped_column(UtcInstant)
