"""Treatments and hygiene, and what they reached."""

from datetime import date, datetime

from sqlalchemy import CheckConstraint, ForeignKey, Index
from sqlalchemy.orm import Mapped, mapped_column

from app.store.base import Base, UtcInstant
from app.store.versioned import Versioned


class Treatment(Versioned, Base):
    """What was sprayed, released, fed, cleaned or set; `number` gives the code T-0001.

    `begun_on` is the nursery's day of `begun_at`. A withdrawn one was entered by mistake: it stays
    readable and reaches nothing.
    """

    __tablename__ = "treatments"
    __table_args__ = (
        CheckConstraint(
            "kind IN ('plant protection', 'biological control', 'feed', 'disinfectant', "
            "'bench cleaning', 'tool disinfection', 'mist setting', 'heat setting', 'other work')",
            name="known_kind",
        ),
        CheckConstraint("reentry_at IS NULL OR reentry_at >= begun_at", name="reentry_after"),
        Index("ix_treatments_begun_on", "begun_on"),
        Index("ix_treatments_reentry_at", "reentry_at"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    number: Mapped[int] = mapped_column(unique=True)
    kind: Mapped[str]
    what: Mapped[str]
    rate: Mapped[str] = mapped_column(default="")
    target: Mapped[str] = mapped_column(default="")
    way: Mapped[str] = mapped_column(default="")
    begun_at: Mapped[datetime] = mapped_column(UtcInstant)
    begun_on: Mapped[date]
    reentry_at: Mapped[datetime | None] = mapped_column(UtcInstant)
    by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    recorded_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    made_at: Mapped[datetime] = mapped_column(UtcInstant)
    notes: Mapped[str] = mapped_column(default="")
    withdrawn_at: Mapped[datetime | None] = mapped_column(UtcInstant)
    withdrawn_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    withdraw_reason: Mapped[str] = mapped_column(default="")


class TreatmentBench(Base):
    """A bench on which a treatment was made: it reaches what stood there on its day."""

    __tablename__ = "treatment_benches"

    treatment_id: Mapped[int] = mapped_column(ForeignKey("treatments.id"), primary_key=True)
    bench_id: Mapped[int] = mapped_column(ForeignKey("benches.id"), primary_key=True, index=True)


class TreatmentBatch(Base):
    """A batch that was treated by itself, wherever it stood."""

    __tablename__ = "treatment_batches"

    treatment_id: Mapped[int] = mapped_column(ForeignKey("treatments.id"), primary_key=True)
    batch_id: Mapped[int] = mapped_column(ForeignKey("batches.id"), primary_key=True, index=True)


class TreatmentStockPlant(Base):
    """A stock plant that a treatment reached, chosen by itself or standing on its bench.

    `counts` is 0 once its re-entry time no longer holds the plant: the treatment was withdrawn, or
    somebody set the plant's time by hand since.
    """

    __tablename__ = "treatment_stock_plants"
    __table_args__ = (
        CheckConstraint("chosen IN (0, 1)", name="chosen_flag"),
        CheckConstraint("counts IN (0, 1)", name="counts_flag"),
    )

    treatment_id: Mapped[int] = mapped_column(ForeignKey("treatments.id"), primary_key=True)
    stock_plant_id: Mapped[int] = mapped_column(
        ForeignKey("stock_plants.id"), primary_key=True, index=True
    )
    chosen: Mapped[int] = mapped_column(default=0)
    counts: Mapped[int] = mapped_column(default=1)


class StockPlantReentry(Base):
    """What a stock plant's re-entry time rests on, from its first treatment on.

    `own_at` is what was set by hand, `set_at` the later of that and of the treatments that count,
    as it was last written to the stock plant; another time there was set by hand since.
    """

    __tablename__ = "stock_plant_reentries"

    stock_plant_id: Mapped[int] = mapped_column(ForeignKey("stock_plants.id"), primary_key=True)
    own_at: Mapped[datetime | None] = mapped_column(UtcInstant)
    set_at: Mapped[datetime | None] = mapped_column(UtcInstant)
