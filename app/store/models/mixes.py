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
