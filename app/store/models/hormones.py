"""Hormones: a substance in a form at a strength."""

from sqlalchemy import CheckConstraint, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from app.store.base import Base


class HormoneRow(Base):
    """One treatment; substance "none" means none was used. Strength -1 stands for unknown.

    A strength of -1 rather than NULL keeps the three columns unique together on every database.
    """

    __tablename__ = "hormones"
    __table_args__ = (
        UniqueConstraint("substance", "form", "ppm"),
        CheckConstraint("ppm >= -1", name="ppm_range"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    substance: Mapped[str]
    form: Mapped[str] = mapped_column(default="")
    ppm: Mapped[int] = mapped_column(default=-1)
    label: Mapped[str]
