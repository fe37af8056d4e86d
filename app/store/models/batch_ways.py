"""What is said of a batch or a check by the way of propagating alone."""

from sqlalchemy import CheckConstraint, ForeignKey
from sqlalchemy.orm import Mapped, mapped_column

from app.store.base import Base


class BatchWay(Base):
    """Which way up the pieces of a batch are, or how its grafts were made; none where blank."""

    __tablename__ = "batch_ways"
    __table_args__ = (CheckConstraint("union_cm IS NULL OR union_cm >= 0", name="union_range"),)

    batch_id: Mapped[int] = mapped_column(ForeignKey("batches.id"), primary_key=True)
    way_up: Mapped[str] = mapped_column(default="")
    leaf_part: Mapped[str] = mapped_column(default="")
    scale_kind: Mapped[str] = mapped_column(default="")
    graft_method: Mapped[str] = mapped_column(default="")
    rootstock_id: Mapped[int | None] = mapped_column(ForeignKey("plant_names.id"))
    rootstock_source: Mapped[str] = mapped_column(default="")
    union_cm: Mapped[float | None]


class CheckPlantlets(Base):
    """Plantlets counted at one version of a check, all that stood there; they are in no rate."""

    __tablename__ = "check_plantlets"
    __table_args__ = (CheckConstraint("plantlets >= 0", name="not_negative"),)

    check_version_id: Mapped[int] = mapped_column(ForeignKey("check_versions.id"), primary_key=True)
    plantlets: Mapped[int]
