"""Batches, where their cuttings came from, and the summary that reports read."""

from datetime import date, datetime
from typing import Any

from sqlalchemy import JSON, CheckConstraint, ForeignKey, Index, UniqueConstraint, text
from sqlalchemy.orm import Mapped, mapped_column

from app.store.base import Base, UtcInstant
from app.store.versioned import Versioned


class Batch(Versioned, Base):
    """Cuttings of one name, one method, one day, one medium.

    `year` (of sticking, four digits) and `number` give the code 26-0147. `taken_over` names the
    fields whose values were taken over from the method card unmeasured. A voided batch was
    entered by mistake: it stays readable and counts nowhere.
    """

    __tablename__ = "batches"
    __table_args__ = (
        UniqueConstraint("year", "number"),
        CheckConstraint("stuck > 0", name="stuck_positive"),
        CheckConstraint("taken IS NULL OR taken >= 0", name="taken_not_negative"),
        CheckConstraint("thrown_out IS NULL OR thrown_out >= 0", name="thrown_out_not_negative"),
        CheckConstraint("taken_on IS NULL OR taken_on <= stuck_on", name="taken_before_stuck"),
        Index("ix_batches_own_reference", "reference_source", "own_reference"),
        Index("ix_batches_plant_name_id", "plant_name_id"),
        Index("ix_batches_stuck_by_id", "stuck_by_id"),
        Index("ix_batches_restuck_from_id", "restuck_from_id"),
        Index("ix_batches_mix_lot_id", "mix_lot_id"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    year: Mapped[int]
    number: Mapped[int]
    code: Mapped[str] = mapped_column(unique=True)
    plant_name_id: Mapped[int] = mapped_column(ForeignKey("plant_names.id"))
    own_reference: Mapped[str] = mapped_column(default="")
    reference_source: Mapped[str] = mapped_column(default="")
    taken_on: Mapped[date | None]
    taken: Mapped[int | None]
    thrown_out: Mapped[int | None]
    thrown_out_cause: Mapped[str] = mapped_column(default="", server_default="")
    stored_hours: Mapped[float | None]
    stored_c: Mapped[float | None]
    stored_how: Mapped[str] = mapped_column(default="")
    stuck_on: Mapped[date]
    stuck: Mapped[int]
    trays: Mapped[int | None]
    per_tray: Mapped[int | None]
    gaps: Mapped[int | None]
    gathered_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    gathered_hours: Mapped[float | None]
    made_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    made_hours: Mapped[float | None]
    stuck_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    hours: Mapped[float | None]
    cutting_type: Mapped[str] = mapped_column(default="")
    cut: Mapped[str] = mapped_column(default="")
    section: Mapped[str] = mapped_column(default="")
    growth_stage: Mapped[str] = mapped_column(default="")
    length_cm: Mapped[float | None]
    leaves_left: Mapped[int | None]
    leaves_halved: Mapped[bool | None]
    wounded: Mapped[bool | None]
    buds_removed: Mapped[bool | None]
    flowering: Mapped[bool | None]
    hormone_id: Mapped[int | None] = mapped_column(ForeignKey("hormones.id"))
    dip_s: Mapped[float | None]
    mix_version_id: Mapped[int | None] = mapped_column(ForeignKey("mix_versions.id"), index=True)
    mix_lot_id: Mapped[int | None] = mapped_column(ForeignKey("mix_lots.id"))
    container_id: Mapped[int | None] = mapped_column(ForeignKey("containers.id"))
    per_place: Mapped[int | None]
    placed: Mapped[str] = mapped_column(default="")
    cover: Mapped[str] = mapped_column(default="")
    bottom_heat_c: Mapped[float | None]
    shade: Mapped[str] = mapped_column(default="")
    bench_id: Mapped[int | None] = mapped_column(ForeignKey("benches.id"), index=True)
    method_card_version_id: Mapped[int | None] = mapped_column(
        ForeignKey("method_card_versions.id")
    )
    taken_over: Mapped[list[Any]] = mapped_column(JSON, default=list)
    restuck_from_id: Mapped[int | None] = mapped_column(ForeignKey("batches.id"))
    trial_block: Mapped[str] = mapped_column(default="")
    ending_kind: Mapped[str] = mapped_column(default="")
    ending_cause: Mapped[str] = mapped_column(default="")
    ended_on: Mapped[date | None]
    voided_at: Mapped[datetime | None] = mapped_column(UtcInstant)
    voided_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    void_reason: Mapped[str] = mapped_column(default="")
    made_at: Mapped[datetime] = mapped_column(UtcInstant)
    recorded_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    notes: Mapped[str] = mapped_column(default="")


class BatchSource(Base):
    """One line of where a batch's cuttings came from, with the number from there if known."""

    __tablename__ = "batch_sources"
    __table_args__ = (
        UniqueConstraint("batch_id", "position"),
        CheckConstraint("kind IN ('stock plant', 'bought in', 'collected')", name="known_kind"),
        CheckConstraint(
            "(kind = 'stock plant') = (stock_plant_id IS NOT NULL)", name="stock_plant_named"
        ),
        CheckConstraint("number IS NULL OR number > 0", name="number_positive"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    batch_id: Mapped[int] = mapped_column(ForeignKey("batches.id"))
    position: Mapped[int]
    kind: Mapped[str]
    stock_plant_id: Mapped[int | None] = mapped_column(ForeignKey("stock_plants.id"), index=True)
    supplier: Mapped[str] = mapped_column(default="")
    lot: Mapped[str] = mapped_column(default="")
    passport: Mapped[str] = mapped_column(default="")
    condition: Mapped[str] = mapped_column(default="")
    place: Mapped[str] = mapped_column(default="", server_default="")
    permitted_by: Mapped[str] = mapped_column(default="", server_default="")
    permit: Mapped[str] = mapped_column(default="", server_default="")
    number: Mapped[int | None]


_OPEN = text("open = 1")


class BatchFacts(Base):
    """The counts and dates of a batch, kept by the same transaction that changes its checks.

    `open` is true while something is unrooted and the batch is not voided. `counted_on` is the
    day of the last full count. `due_on` is the earlier of the next look and the next count.
    """

    __tablename__ = "batch_facts"
    __table_args__ = (
        CheckConstraint(
            "rooted >= 0 AND lost >= 0 AND dumped >= 0 AND cleared_unrooted >= 0 AND unrooted >= 0",
            name="counts_not_negative",
        ),
        CheckConstraint(
            "rooted + lost + dumped + cleared_unrooted + unrooted = stuck", name="counts_add_up"
        ),
        CheckConstraint("month_stuck BETWEEN 1 AND 12", name="month_range"),
        CheckConstraint("open IN (0, 1)", name="open_flag"),
        CheckConstraint("voided IN (0, 1)", name="voided_flag"),
        Index(
            "ix_batch_facts_due",
            "due_on",
            "batch_id",
            sqlite_where=_OPEN,
            postgresql_where=text("open"),
        ),
        Index(
            "ix_batch_facts_rates",
            "genus_id",
            "cutting_type",
            "hormone_id",
            "month_stuck",
            "year_stuck",
            "stuck_on",
            "voided",
            "stuck",
            "rooted",
            "lost",
            "dumped",
            "cleared_unrooted",
            "unrooted",
            "counted_on",
        ),
        Index("ix_batch_facts_stuck_on", "stuck_on", "batch_id"),
        Index("ix_batch_facts_plant_name_id", "plant_name_id"),
    )

    batch_id: Mapped[int] = mapped_column(ForeignKey("batches.id"), primary_key=True)
    genus_id: Mapped[int] = mapped_column(ForeignKey("genera.id"))
    plant_name_id: Mapped[int] = mapped_column(ForeignKey("plant_names.id"))
    cutting_type: Mapped[str] = mapped_column(default="")
    hormone_id: Mapped[int | None] = mapped_column(ForeignKey("hormones.id"))
    mix_id: Mapped[int | None] = mapped_column(ForeignKey("mixes.id"))
    stuck_on: Mapped[date]
    year_stuck: Mapped[int]
    month_stuck: Mapped[int]
    stuck: Mapped[int]
    rooted: Mapped[int] = mapped_column(default=0)
    lost: Mapped[int] = mapped_column(default=0)
    dumped: Mapped[int] = mapped_column(default=0)
    cleared_unrooted: Mapped[int] = mapped_column(default=0)
    unrooted: Mapped[int]
    open: Mapped[int] = mapped_column(default=1)
    voided: Mapped[int] = mapped_column(default=0)
    last_looked_on: Mapped[date | None]
    counted_on: Mapped[date | None]
    next_look_on: Mapped[date | None]
    next_count_on: Mapped[date | None]
    due_on: Mapped[date | None]
    late_on: Mapped[date | None]
