"""Method cards: how a genus or a species is usually taken, each value with its standing."""

from datetime import datetime
from typing import Any

from sqlalchemy import JSON, ForeignKey, Index, UniqueConstraint, text
from sqlalchemy.orm import Mapped, mapped_column

from app.store.base import Base, UtcInstant
from app.store.versioned import Versioned


class MethodCard(Versioned, Base):
    """The card of a genus, of one species of it, or of one plant name, for one cutting type.

    A blank species means the whole genus; with a plant name it is for that one alone. `current`
    is the number of the newest version.
    """

    __tablename__ = "method_cards"
    __table_args__ = (
        Index(
            "uq_method_cards_wide",
            "genus_id",
            "species",
            "cutting_type",
            unique=True,
            sqlite_where=text("plant_name_id IS NULL"),
            postgresql_where=text("plant_name_id IS NULL"),
        ),
        Index(
            "uq_method_cards_narrow",
            "plant_name_id",
            "cutting_type",
            unique=True,
            sqlite_where=text("plant_name_id IS NOT NULL"),
            postgresql_where=text("plant_name_id IS NOT NULL"),
        ),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    genus_id: Mapped[int] = mapped_column(ForeignKey("genera.id"))
    species: Mapped[str] = mapped_column(default="")
    plant_name_id: Mapped[int | None] = mapped_column(ForeignKey("plant_names.id"))
    cutting_type: Mapped[str]
    current: Mapped[int] = mapped_column(default=1)
    retired_at: Mapped[datetime | None] = mapped_column(UtcInstant)


class MethodCardVersion(Base):
    """What a card said from one day on; never edited.

    `months` holds month numbers of the northern half as written in the card ("8-10").
    `steps` holds [step, reason] pairs, `troubles` [what, signs, what to do]. `standings` maps a
    field to where its value comes from.
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
    material: Mapped[str] = mapped_column(default="", server_default="")
    light: Mapped[str] = mapped_column(default="", server_default="")
    aftercare: Mapped[str] = mapped_column(default="", server_default="")
    checks: Mapped[str] = mapped_column(default="", server_default="")
    steps: Mapped[list[Any]] = mapped_column(JSON, default=list, server_default="[]")
    troubles: Mapped[list[Any]] = mapped_column(JSON, default=list, server_default="[]")
    standings: Mapped[dict[str, Any]] = mapped_column(JSON, default=dict)
