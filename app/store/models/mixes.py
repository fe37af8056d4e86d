"""Mixes: ingredients, recipes with versions, and lots made up from them."""

from datetime import date, datetime

from sqlalchemy import CheckConstraint, ForeignKey, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from app.store.base import Base, UtcInstant
from app.store.versioned import Versioned


class Ingredient(Versioned, Base):
    """Something a mix is made of."""

    __tablename__ = "ingredients"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(unique=True)
    notes: Mapped[str] = mapped_column(default="")


class Mix(Versioned, Base):
    """A named recipe; what it is made of stands in its versions."""

    __tablename__ = "mixes"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(unique=True)
    retired_at: Mapped[datetime | None] = mapped_column(UtcInstant)


class MixVersion(Base):
    """A recipe as it was from one day on; never edited once a batch has used it."""

    __tablename__ = "mix_versions"
    __table_args__ = (
        UniqueConstraint("mix_id", "number"),
        CheckConstraint(
            "shrinkage_share IS NULL OR (shrinkage_share >= 0 AND shrinkage_share < 1)",
            name="shrinkage_range",
        ),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    mix_id: Mapped[int] = mapped_column(ForeignKey("mixes.id"))
    number: Mapped[int]
    made_at: Mapped[datetime] = mapped_column(UtcInstant)
    shrinkage_share: Mapped[float | None]
    notes: Mapped[str] = mapped_column(default="")


class MixPart(Base):
    """So many parts by volume of one ingredient in a version."""

    __tablename__ = "mix_parts"
    __table_args__ = (CheckConstraint("parts > 0", name="parts_positive"),)

    mix_version_id: Mapped[int] = mapped_column(ForeignKey("mix_versions.id"), primary_key=True)
    ingredient_id: Mapped[int] = mapped_column(ForeignKey("ingredients.id"), primary_key=True)
    position: Mapped[int]
    parts: Mapped[float]


class MixLot(Versioned, Base):
    """One making-up of a mix; `number` gives the code M-0007."""

    __tablename__ = "mix_lots"
    __table_args__ = (CheckConstraint("litres IS NULL OR litres > 0", name="litres_positive"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    number: Mapped[int] = mapped_column(unique=True)
    code: Mapped[str] = mapped_column(unique=True)
    mix_version_id: Mapped[int] = mapped_column(ForeignKey("mix_versions.id"))
    made_on: Mapped[date]
    made_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    litres: Mapped[float | None]
    notes: Mapped[str] = mapped_column(default="")


class MixLotMeasures(Base):
    """What was measured of a mix lot, who entered it, and how it ended.

    EC in mS/cm at 25 °C. A voided lot was entered by mistake; an empty one is offered no more.
    """

    __tablename__ = "mix_lot_measures"
    __table_args__ = (
        CheckConstraint("asked_l IS NULL OR asked_l > 0", name="asked_positive"),
        CheckConstraint("medium_ph IS NULL OR medium_ph BETWEEN 0 AND 14", name="medium_ph_range"),
        CheckConstraint("water_ph IS NULL OR water_ph BETWEEN 0 AND 14", name="water_ph_range"),
        CheckConstraint("medium_ec IS NULL OR medium_ec >= 0", name="medium_ec_not_negative"),
        CheckConstraint("water_ec IS NULL OR water_ec >= 0", name="water_ec_not_negative"),
        CheckConstraint(
            "container_ml IS NULL OR (drained_ml >= 0 AND drained_ml <= saturation_ml "
            "AND saturation_ml <= container_ml)",
            name="porosity_in_order",
        ),
    )

    mix_lot_id: Mapped[int] = mapped_column(ForeignKey("mix_lots.id"), primary_key=True)
    asked_l: Mapped[float | None]
    extraction: Mapped[str] = mapped_column(default="")
    medium_ec: Mapped[float | None]
    medium_ph: Mapped[float | None]
    water_ec: Mapped[float | None]
    water_ph: Mapped[float | None]
    container: Mapped[str] = mapped_column(default="")
    container_ml: Mapped[float | None]
    saturation_ml: Mapped[float | None]
    drained_ml: Mapped[float | None]
    made_at: Mapped[datetime] = mapped_column(UtcInstant)
    recorded_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    empty_on: Mapped[date | None]
    voided_at: Mapped[datetime | None] = mapped_column(UtcInstant)
    void_reason: Mapped[str] = mapped_column(default="")


class MixLotIngredient(Base):
    """What went into a mix lot of one ingredient, with the supplier's lot of it."""

    __tablename__ = "mix_lot_ingredients"
    __table_args__ = (CheckConstraint("litres IS NULL OR litres > 0", name="litres_positive"),)

    mix_lot_id: Mapped[int] = mapped_column(ForeignKey("mix_lots.id"), primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True)
    ingredient_id: Mapped[int] = mapped_column(ForeignKey("ingredients.id"))
    supplier_lot: Mapped[str] = mapped_column(default="")
    litres: Mapped[float | None]
    bags: Mapped[float | None]
    bag_l: Mapped[float | None]


class MixLotUse(Base):
    """Litres that a batch used of a lot, where somebody said so instead of the containers."""

    __tablename__ = "mix_lot_uses"
    __table_args__ = (CheckConstraint("litres >= 0", name="litres_not_negative"),)

    batch_id: Mapped[int] = mapped_column(ForeignKey("batches.id"), primary_key=True)
    mix_lot_id: Mapped[int] = mapped_column(ForeignKey("mix_lots.id"), primary_key=True)
    litres: Mapped[float]
