"""Stock plants: the mothers of cuttings."""

from datetime import date, datetime

from sqlalchemy import CheckConstraint, ForeignKey
from sqlalchemy.orm import Mapped, mapped_column

from app.store.base import Base, UtcInstant
from app.store.versioned import Versioned


class StockPlant(Versioned, Base):
    """A mother plant or a group of identical ones; `number` gives the code S-0031.

    `plants`, `cut_back_on`, `renew_by`, `tested_until`, `true_to_type_on` and `next_inspection_on`
    follow from its events. Writing them counts no version: nobody edited the plant.
    """

    __tablename__ = "stock_plants"
    __table_args__ = (
        CheckConstraint("plants >= 0", name="plants_not_negative"),
        CheckConstraint(
            "state IN ('fit to cut', 'resting', 'watched', 'on hold', 'discarded')",
            name="known_state",
        ),
        CheckConstraint(
            "origin IN ('', 'bought in', 'raised here', 'given', 'collected')",
            name="known_origin",
        ),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    number: Mapped[int] = mapped_column(unique=True)
    code: Mapped[str] = mapped_column(unique=True)
    plant_name_id: Mapped[int] = mapped_column(ForeignKey("plant_names.id"), index=True)
    plants: Mapped[int] = mapped_column(default=1)
    bench_id: Mapped[int | None] = mapped_column(ForeignKey("benches.id"))
    state: Mapped[str] = mapped_column(default="fit to cut")
    state_reason: Mapped[str] = mapped_column(default="")
    origin: Mapped[str] = mapped_column(default="")
    raised_from_id: Mapped[int | None] = mapped_column(ForeignKey("batches.id"), index=True)
    supplier: Mapped[str] = mapped_column(default="")
    supplier_reference: Mapped[str] = mapped_column(default="")
    came_on: Mapped[date | None]
    rest_weeks: Mapped[int | None]
    expected_per_plant: Mapped[float | None]
    cut_back_on: Mapped[date | None]
    renew_by: Mapped[date | None]
    tested_until: Mapped[date | None] = mapped_column(index=True)
    true_to_type_on: Mapped[date | None]
    next_inspection_on: Mapped[date | None] = mapped_column(index=True)
    flowering: Mapped[bool | None]
    reentry_at: Mapped[datetime | None] = mapped_column(UtcInstant)
    discarded_on: Mapped[date | None]
    notes: Mapped[str] = mapped_column(default="")
