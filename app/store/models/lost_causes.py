"""Why a cutting was lost: a list the head can add to."""

from datetime import datetime

from sqlalchemy.orm import Mapped, mapped_column

from app.store.base import Base, UtcInstant
from app.store.versioned import Versioned


class LostCause(Versioned, Base):
    """A cause; one that spreads makes the next look urgent."""

    __tablename__ = "lost_causes"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(unique=True)
    spreads: Mapped[bool] = mapped_column(default=False)
    position: Mapped[int] = mapped_column(default=0)
    retired_at: Mapped[datetime | None] = mapped_column(UtcInstant)
