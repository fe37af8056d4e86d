"""Sheets read in and looked over before anything of them is written."""

from datetime import datetime
from typing import Any

from sqlalchemy import JSON, CheckConstraint, ForeignKey, Index
from sqlalchemy.orm import Mapped, mapped_column

from app.store.base import Base, UtcInstant


class ImportStage(Base):
    """One sheet that waits to be written, was written, or was put aside."""

    __tablename__ = "import_stages"
    __table_args__ = (
        CheckConstraint("state IN ('waiting', 'written', 'put aside')", name="known_state"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    kind: Mapped[str]
    file_name: Mapped[str]
    reference: Mapped[str] = mapped_column(default="")
    file_hash: Mapped[str] = mapped_column(default="")
    state: Mapped[str] = mapped_column(default="waiting")
    person_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    made_at: Mapped[datetime] = mapped_column(UtcInstant)
    written_at: Mapped[datetime | None] = mapped_column(UtcInstant)
    summary: Mapped[dict[str, Any]] = mapped_column(JSON, default=dict)


class ImportStageLine(Base):
    """One line of a staged sheet: what it says and how it stands to what is stored."""

    __tablename__ = "import_stage_lines"
    __table_args__ = (
        CheckConstraint("state IN ('new', 'changed', 'the same', 'wrong')", name="known_state"),
        Index("ix_import_stage_lines_state", "import_stage_id", "state", "line"),
    )

    import_stage_id: Mapped[int] = mapped_column(ForeignKey("import_stages.id"), primary_key=True)
    line: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    state: Mapped[str]
    payload: Mapped[dict[str, Any]] = mapped_column(JSON, default=dict)
    problems: Mapped[list[Any]] = mapped_column(JSON, default=list)
