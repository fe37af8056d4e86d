"""Plant passports as issued, and what the nursery's have in common."""

from datetime import date, datetime

from sqlalchemy import CheckConstraint, ForeignKey
from sqlalchemy.orm import Mapped, mapped_column

from app.store.base import Base, UtcInstant
from app.store.versioned import Versioned


class PassportSettingsRow(Versioned, Base):
    """What passports have in common, in one row; without an operator number none is issued."""

    __tablename__ = "passport_settings"
    __table_args__ = (
        CheckConstraint("id = 1", name="one_row"),
        CheckConstraint("territory IN ('EU', 'GB')", name="known_territory"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    territory: Mapped[str]
    operator_number: Mapped[str]
    member_state: Mapped[str]
    own_title: Mapped[str]


class PlantPassport(Base):
    """A passport as issued, word for word; `number` gives the code P-0001.

    Nothing of it is ever changed: a wrong one is voided, and issued again as a new one, which
    names it as `replaces_id`.
    """

    __tablename__ = "plant_passports"
    __table_args__ = (
        CheckConstraint("territory IN ('EU', 'GB')", name="known_territory"),
        CheckConstraint("plants > 0", name="plants_positive"),
        CheckConstraint("labels > 0", name="labels_positive"),
        CheckConstraint("c <> '' OR blank_reason <> ''", name="code_or_reason"),
        CheckConstraint("(voided_at IS NULL) = (void_reason = '')", name="void_with_reason"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    number: Mapped[int] = mapped_column(unique=True)
    batch_id: Mapped[int] = mapped_column(ForeignKey("batches.id"), index=True)
    territory: Mapped[str]
    title: Mapped[str]
    a: Mapped[str]
    b: Mapped[str]
    c: Mapped[str]
    d: Mapped[str]
    e: Mapped[str]
    blank_reason: Mapped[str]
    plants: Mapped[int]
    labels: Mapped[int]
    note: Mapped[str]
    replaces_id: Mapped[int | None] = mapped_column(ForeignKey("plant_passports.id"), index=True)
    issued_on: Mapped[date]
    issued_at: Mapped[datetime] = mapped_column(UtcInstant)
    issued_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    voided_at: Mapped[datetime | None] = mapped_column(UtcInstant)
    voided_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    void_reason: Mapped[str] = mapped_column(default="")
