"""Containers: trays, pots, and open ground."""

from datetime import datetime

from sqlalchemy import CheckConstraint
from sqlalchemy.orm import Mapped, mapped_column

from app.store.base import Base, UtcInstant
from app.store.versioned import Versioned


class Container(Versioned, Base):
    """A kind of container. Kind "lined out" is open ground or a frame, where only looks are due."""

    __tablename__ = "containers"
    __table_args__ = (
        CheckConstraint("kind IN ('tray', 'pot', 'lined out')", name="known_kind"),
        CheckConstraint("plugs IS NULL OR plugs > 0", name="plugs_positive"),
        CheckConstraint("volume_ml IS NULL OR volume_ml > 0", name="volume_positive"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(unique=True)
    kind: Mapped[str] = mapped_column(default="tray")
    plugs: Mapped[int | None]
    volume_ml: Mapped[float | None]
    retired_at: Mapped[datetime | None] = mapped_column(UtcInstant)
