"""Practical sessions: what is taught, who takes part, the cautions read, their batches."""

from datetime import date, datetime
from typing import Any

from sqlalchemy import JSON, CheckConstraint, ForeignKey, Index, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from app.store.base import Base, UtcInstant
from app.store.versioned import Versioned


class Practical(Versioned, Base):
    """One practical session; `number` gives the code D-0001.

    `steps`, `tools` and `cautions` are lines in their order. A session that was put off keeps the
    day it was first meant for; one that was cancelled stays readable.
    """

    __tablename__ = "practicals"
    __table_args__ = (
        CheckConstraint("heads IS NULL OR heads > 0", name="heads_positive"),
        CheckConstraint("per_head IS NULL OR per_head > 0", name="per_head_positive"),
        CheckConstraint("per_place IS NULL OR per_place > 0", name="per_place_positive"),
        Index("ix_practicals_held_on", "held_on"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    number: Mapped[int] = mapped_column(unique=True)
    held_on: Mapped[date]
    topic: Mapped[str]
    taught_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    heads: Mapped[int | None]
    plant_name_id: Mapped[int | None] = mapped_column(ForeignKey("plant_names.id"))
    cutting_type: Mapped[str] = mapped_column(default="")
    per_head: Mapped[int | None]
    per_place: Mapped[int | None]
    hormone_id: Mapped[int | None] = mapped_column(ForeignKey("hormones.id"))
    container_id: Mapped[int | None] = mapped_column(ForeignKey("containers.id"))
    mix_id: Mapped[int | None] = mapped_column(ForeignKey("mixes.id"))
    bench_id: Mapped[int | None] = mapped_column(ForeignKey("benches.id"))
    method_card_version_id: Mapped[int | None] = mapped_column(
        ForeignKey("method_card_versions.id")
    )
    steps: Mapped[list[Any]] = mapped_column(JSON, default=list)
    tools: Mapped[list[Any]] = mapped_column(JSON, default=list)
    cautions: Mapped[list[Any]] = mapped_column(JSON, default=list)
    notes: Mapped[str] = mapped_column(default="")
    put_off_from: Mapped[date | None]
    put_off_reason: Mapped[str] = mapped_column(default="")
    cancelled_at: Mapped[datetime | None] = mapped_column(UtcInstant)
    cancelled_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    cancel_reason: Mapped[str] = mapped_column(default="")
    made_at: Mapped[datetime] = mapped_column(UtcInstant)
    recorded_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))


class PracticalPerson(Base):
    """Somebody who takes part in a practical session."""

    __tablename__ = "practical_people"

    practical_id: Mapped[int] = mapped_column(ForeignKey("practicals.id"), primary_key=True)
    person_id: Mapped[int] = mapped_column(ForeignKey("people.id"), primary_key=True, index=True)


class PracticalText(Base):
    """The cautions of a session as they stood when somebody read them."""

    __tablename__ = "practical_texts"
    __table_args__ = (UniqueConstraint("practical_id", "fingerprint"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    practical_id: Mapped[int] = mapped_column(ForeignKey("practicals.id"))
    fingerprint: Mapped[str]
    text: Mapped[str]


class PracticalReading(Base):
    """That somebody read the cautions, or had them read aloud; a withdrawn one was a mistake."""

    __tablename__ = "practical_readings"
    __table_args__ = (
        CheckConstraint("aloud IN (0, 1)", name="aloud_flag"),
        Index("ix_practical_readings_practical_id", "practical_id", "person_id"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    practical_id: Mapped[int] = mapped_column(ForeignKey("practicals.id"))
    person_id: Mapped[int] = mapped_column(ForeignKey("people.id"))
    text_id: Mapped[int] = mapped_column(ForeignKey("practical_texts.id"))
    read_on: Mapped[date]
    aloud: Mapped[int] = mapped_column(default=0)
    recorded_at: Mapped[datetime] = mapped_column(UtcInstant)
    recorded_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    withdrawn_at: Mapped[datetime | None] = mapped_column(UtcInstant)
    withdrawn_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))


class PracticalBatch(Base):
    """A batch that belongs to a practical session; to one at most."""

    __tablename__ = "practical_batches"

    batch_id: Mapped[int] = mapped_column(ForeignKey("batches.id"), primary_key=True)
    practical_id: Mapped[int] = mapped_column(ForeignKey("practicals.id"), index=True)
