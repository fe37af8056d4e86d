"""The nursery itself, in one row."""

from sqlalchemy import CheckConstraint, false
from sqlalchemy.orm import Mapped, mapped_column

from app.store.base import Base
from app.store.versioned import Versioned


class Meta(Versioned, Base):
    """Name, time zone, half of the globe, two choices; and two running marks.

    `data_version` counts up whenever a figure of a rate may have changed. `history_length` and
    `history_hash` repeat the newest history line, so that a cut-off tail is noticed.
    """

    __tablename__ = "meta"
    __table_args__ = (
        CheckConstraint("id = 1", name="one_row"),
        CheckConstraint("hemisphere IN ('north', 'south')", name="known_hemisphere"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    nursery: Mapped[str] = mapped_column(default="")
    zone: Mapped[str] = mapped_column(default="UTC")
    hemisphere: Mapped[str] = mapped_column(default="north")
    medium_word: Mapped[str] = mapped_column(default="medium")
    raw_powder: Mapped[bool] = mapped_column(default=False, server_default=false())
    data_version: Mapped[int] = mapped_column(default=0)
    history_length: Mapped[int] = mapped_column(default=0)
    history_hash: Mapped[str] = mapped_column(default="")
