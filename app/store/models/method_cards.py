"""Method cards: how a genus or a species is usually taken, each value with its standing."""

from datetime import datetime
from typing import Any

from sqlalchemy import JSON, ForeignKey, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from app.store.base import Base, UtcInstant
from app.store.versioned import Versioned


class MethodCard(Versioned, Base):
    """The card of a genus, or of one species of it, for one cutting type.

    A blank species means the whole genus. `current` is the number of the newest version.
    """

    __tablename__ = "method_cards"
    __table_args__ = (UniqueConstraint("genus_id", "species", "cutting_type"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    genus_id: Mapped[int] = mapped_column(ForeignKey("genera.id"))
    species: Mapped[str] = mapped_column(default="")
    cutting_type: Mapped[str]
    current: Mapped[int] = mapped_column(default=1)
    retired_at: Mapped[datetime | None] = mapped_column(UtcInstant)


class MethodCardVersion(Base):
    """What a card said from one day on; never edited.

    `months` holds month numbers of the northern half as written in the card ("8-10").
    `standings` maps a field to where its value comes from.
    """

    __tablename__ = "method_card_versions"
    __table_args__ = (UniqueConstraint("method_card_id", "number"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    method_card_id: Mapped[int] = mapped_column(ForeignKey("method_cards.id"))
    number: Mapped[int]
    made_at: Mapped[datetime] = mapped_column(UtcInstant)
    made_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    months: Mapped[str] = mapped_column(default="")
    cut: Mapped[str] = mapped_column(default="")
    section: Mapped[str] = mapped_column(default="")
    length_cm_low: Mapped[float | None]
    length_cm_high: Mapped[float | None]
    leaves_low: Mapped[int | None]
    leaves_high: Mapped[int | None]
    hormone_substance: Mapped[str] = mapped_column(default="")
    hormone_form: Mapped[str] = mapped_column(default="")
    hormone_ppm_low: Mapped[int | None]
    hormone_ppm_high: Mapped[int | None]
    weeks_low: Mapped[float | None]
    weeks_high: Mapped[float | None]
    cover: Mapped[str] = mapped_column(default="")
    bottom_heat_c_low: Mapped[float | None]
    bottom_heat_c_high: Mapped[float | None]
    mix: Mapped[str] = mapped_column(default="")
    container: Mapped[str] = mapped_column(default="")
    notes: Mapped[str] = mapped_column(default="")
    standings: Mapped[dict[str, Any]] = mapped_column(JSON, default=dict)
