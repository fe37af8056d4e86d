"""The season's board: what is to be stuck in which week, and the room it was planned under."""

from datetime import date, datetime

from sqlalchemy import CheckConstraint, ForeignKey
from sqlalchemy.orm import Mapped, mapped_column

from app.store.base import Base, UtcInstant
from app.store.versioned import Versioned


class SeasonLineRow(Versioned, Base):
    """So many cuttings of an order in the week of a Monday; `fixed` once it was set by hand.

    A removed line stays as a row: an old page's button must not reach a later line by its number.
    """

    __tablename__ = "season_lines"
    __table_args__ = (
        CheckConstraint("cuttings > 0", name="cuttings_positive"),
        CheckConstraint("fixed IN (0, 1)", name="fixed_flag"),
        CheckConstraint("removed IN (0, 1)", name="removed_flag"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(ForeignKey("orders.id"), index=True)
    week_on: Mapped[date]
    cuttings: Mapped[int]
    fixed: Mapped[int] = mapped_column(default=0)
    note: Mapped[str] = mapped_column(default="")
    removed: Mapped[int] = mapped_column(default=0)


class SeasonPlanRow(Base):
    """When the board was last planned, under which room, and how near the best it is known to be.

    Room of NULL means: the room on the benches (`trays`), no limit (`labour`).
    """

    __tablename__ = "season_plans"
    __table_args__ = (
        CheckConstraint("id = 1", name="one_row"),
        CheckConstraint("stopped_early IN (0, 1)", name="stopped_early_flag"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    planned_at: Mapped[datetime] = mapped_column(UtcInstant)
    trays: Mapped[int | None]
    labour: Mapped[int | None]
    per_tray: Mapped[int | None]
    gap_share: Mapped[float]
    stopped_early: Mapped[int] = mapped_column(default=0)
