"""Plant names in their parts."""

from datetime import date

from sqlalchemy import ForeignKey
from sqlalchemy.orm import Mapped, mapped_column

from app.store.base import Base
from app.store.versioned import Versioned


class PlantNameRow(Versioned, Base):
    """A name; `plain` is its one normalised line and is unique."""

    __tablename__ = "plant_names"

    id: Mapped[int] = mapped_column(primary_key=True)
    plain: Mapped[str] = mapped_column(unique=True)
    genus_id: Mapped[int] = mapped_column(ForeignKey("genera.id"), index=True)
    hybrid: Mapped[str] = mapped_column(default="")
    species: Mapped[str] = mapped_column(default="")
    infraspecific: Mapped[str] = mapped_column(default="")
    group_epithet: Mapped[str] = mapped_column(default="")
    grex: Mapped[str] = mapped_column(default="")
    cultivar: Mapped[str] = mapped_column(default="")
    second_parent: Mapped[str] = mapped_column(default="")
    qualifier: Mapped[str] = mapped_column(default="")
    trade_designation: Mapped[str] = mapped_column(default="")
    common_name: Mapped[str] = mapped_column(default="")
    rights_grant: Mapped[str] = mapped_column(default="")
    rights_licence: Mapped[str] = mapped_column(default="")
    rights_until: Mapped[date | None]
    notes: Mapped[str] = mapped_column(default="")
