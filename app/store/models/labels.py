"""What labels need besides the records they are for."""

from datetime import datetime

from sqlalchemy import CheckConstraint, ForeignKey
from sqlalchemy.orm import Mapped, mapped_column

from app.store.base import Base, UtcInstant
from app.store.versioned import Versioned


class LabelAddress(Versioned, Base):
    """The address that the codes on labels lead to, in one row once it is set; "" for none."""

    __tablename__ = "label_addresses"
    __table_args__ = (CheckConstraint("id = 1", name="one_row"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    address: Mapped[str] = mapped_column(default="")


class LabelRun(Base):
    """Numbers reserved together for labels printed ahead, `first` to `last`, none twice."""

    __tablename__ = "label_runs"
    __table_args__ = (CheckConstraint("first > 0 AND last >= first", name="in_order"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    first: Mapped[int] = mapped_column(unique=True)
    last: Mapped[int]
    made_at: Mapped[datetime] = mapped_column(UtcInstant)
    recorded_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))


class BatchTag(Base):
    """A label printed ahead that was put on a batch; without `batch_id` it was taken off again."""

    __tablename__ = "batch_tags"
    __table_args__ = (CheckConstraint("number > 0", name="number_positive"),)

    number: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    batch_id: Mapped[int | None] = mapped_column(ForeignKey("batches.id"), index=True)
