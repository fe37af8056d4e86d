"""Genera: family, and the caution to show beside the work."""

from sqlalchemy.orm import Mapped, mapped_column

from app.store.base import Base
from app.store.versioned import Versioned


class Genus(Versioned, Base):
    """A genus, without its hybrid sign. A blank caution means none recorded, never safe."""

    __tablename__ = "genera"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(unique=True)
    family: Mapped[str] = mapped_column(default="")
    caution: Mapped[str] = mapped_column(default="")
    caution_route: Mapped[str] = mapped_column(default="")
    caution_basis: Mapped[str] = mapped_column(default="")
    caution_applies_to: Mapped[str] = mapped_column(default="")
