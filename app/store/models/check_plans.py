"""Check plans: how often a batch is looked at and counted."""

from sqlalchemy import CheckConstraint, ForeignKey, Index, text
from sqlalchemy.orm import Mapped, mapped_column

from app.store.base import Base
from app.store.versioned import Versioned


class CheckPlanRow(Versioned, Base):
    """A plan for the whole nursery, for a genus (and a type), or for one batch.

    A NULL number leans on the plan above it, in the end on the method card and the rule.
    """

    __tablename__ = "check_plans"
    __table_args__ = (
        CheckConstraint("level IN ('nursery', 'genus', 'batch')", name="known_level"),
        CheckConstraint(
            "(level = 'genus') = (genus_id IS NOT NULL) AND "
            "(level = 'batch') = (batch_id IS NOT NULL)",
            name="level_has_its_record",
        ),
        CheckConstraint("look_every_days IS NULL OR look_every_days > 0", name="look_positive"),
        CheckConstraint("first_count_day IS NULL OR first_count_day > 0", name="first_positive"),
        CheckConstraint("count_every_days IS NULL OR count_every_days > 0", name="count_positive"),
        Index("uq_check_plans_genus", "genus_id", "cutting_type", unique=True),
        Index("uq_check_plans_batch", "batch_id", unique=True),
        Index(
            "uq_check_plans_nursery",
            "level",
            unique=True,
            sqlite_where=text("level = 'nursery'"),
            postgresql_where=text("level = 'nursery'"),
        ),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    level: Mapped[str]
    genus_id: Mapped[int | None] = mapped_column(ForeignKey("genera.id"))
    cutting_type: Mapped[str] = mapped_column(default="")
    batch_id: Mapped[int | None] = mapped_column(ForeignKey("batches.id"))
    look_every_days: Mapped[int | None]
    first_count_day: Mapped[int | None]
    count_every_days: Mapped[int | None]
    looks_only: Mapped[bool | None]
    learned: Mapped[bool | None]
