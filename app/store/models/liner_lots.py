"""Liner lots: what became of rooted cuttings, as events of a batch or of a lot."""

from datetime import date, datetime
from typing import Final

from sqlalchemy import CheckConstraint, ForeignKey, Index
from sqlalchemy.orm import Mapped, mapped_column

from app.store.base import Base, UtcInstant
from app.store.versioned import Versioned

_WITHOUT_NUMBER: Final = (
    "'weaning begun', 'pinched', 'potted on', 'came through the winter', 'looked at', 'ready'"
)
_INTO: Final = "'potted up', 'split', 'merged'"
_OUT: Final = "'lost', 'graded out', 'sent out', 'kept as stock plants'"


class LinerLot(Versioned, Base):
    """Plants that were potted up together; `running_number` gives the code L-0007.

    A lot merged from others names its plant, since it is of no single batch.
    """

    __tablename__ = "liner_lots"
    __table_args__ = (
        CheckConstraint("(batch_id IS NULL) = (plant_name_id IS NOT NULL)", name="batch_or_plant"),
        CheckConstraint("trays IS NULL OR trays > 0", name="trays_positive"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    running_number: Mapped[int] = mapped_column(unique=True)
    code: Mapped[str] = mapped_column(unique=True)
    batch_id: Mapped[int | None] = mapped_column(ForeignKey("batches.id"), index=True)
    plant_name_id: Mapped[int | None] = mapped_column(ForeignKey("plant_names.id"), index=True)
    trays: Mapped[int | None]
    notes: Mapped[str] = mapped_column(default="")


class LinerStage(Base):
    """Something that happened on a day to rooted cuttings of a batch, or to a lot.

    `number` are those that left the batch or the lot by it, to `into_lot_id` where there is one;
    a stage that the whole lot went through has none. `position` orders what happened on one day.
    A withdrawn stage was entered by mistake: it stays readable and counts nowhere.
    """

    __tablename__ = "liner_stages"
    __table_args__ = (
        CheckConstraint(f"stage IN ({_WITHOUT_NUMBER}, {_INTO}, {_OUT})", name="known_stage"),
        CheckConstraint("(batch_id IS NULL) <> (liner_lot_id IS NULL)", name="one_thing"),
        CheckConstraint(
            "(batch_id IS NOT NULL AND stage IN ('weaning begun', 'potted up', 'lost')) OR "
            "(liner_lot_id IS NOT NULL AND stage NOT IN ('weaning begun', 'potted up'))",
            name="stage_of_its_thing",
        ),
        CheckConstraint(f"(stage IN ({_WITHOUT_NUMBER})) = (number IS NULL)", name="number_fits"),
        CheckConstraint("number IS NULL OR number > 0", name="number_positive"),
        CheckConstraint(f"(stage IN ({_INTO})) = (into_lot_id IS NOT NULL)", name="into_fits"),
        CheckConstraint("litres IS NULL OR litres >= 0", name="litres_not_negative"),
        CheckConstraint("withdrawn IN (0, 1)", name="withdrawn_flag"),
        Index("ix_liner_stages_batch_id", "batch_id"),
        Index("ix_liner_stages_liner_lot_id", "liner_lot_id"),
        Index("ix_liner_stages_into_lot_id", "into_lot_id"),
        Index("ix_liner_stages_mix_lot_id", "mix_lot_id"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    position: Mapped[int]
    stage: Mapped[str]
    reached_on: Mapped[date]
    number: Mapped[int | None]
    batch_id: Mapped[int | None] = mapped_column(ForeignKey("batches.id"))
    liner_lot_id: Mapped[int | None] = mapped_column(ForeignKey("liner_lots.id"))
    into_lot_id: Mapped[int | None] = mapped_column(ForeignKey("liner_lots.id"))
    container_id: Mapped[int | None] = mapped_column(ForeignKey("containers.id"))
    mix_lot_id: Mapped[int | None] = mapped_column(ForeignKey("mix_lots.id"))
    litres: Mapped[float | None]
    lost_cause_id: Mapped[int | None] = mapped_column(ForeignKey("lost_causes.id"))
    grade: Mapped[str] = mapped_column(default="")
    stock_plant_id: Mapped[int | None] = mapped_column(ForeignKey("stock_plants.id"))
    person_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    recorded_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    made_at: Mapped[datetime | None] = mapped_column(UtcInstant)
    notes: Mapped[str] = mapped_column(default="")
    withdrawn: Mapped[int] = mapped_column(default=0)
    withdrawn_at: Mapped[datetime | None] = mapped_column(UtcInstant)
    withdrawn_reason: Mapped[str] = mapped_column(default="")


class LinerFacts(Base):
    """What became of a batch's rooted cuttings, kept by the transaction that changes its stages.

    `taken` were potted up, or lost on the way there; `ready` were ready, or kept as stock plants;
    `lost` failed before they were ready; `growing` are neither yet.
    """

    __tablename__ = "liner_facts"
    __table_args__ = (
        CheckConstraint(
            "taken >= 0 AND ready >= 0 AND lost >= 0 AND growing >= 0", name="counts_not_negative"
        ),
        CheckConstraint("ready + lost + growing = taken", name="counts_add_up"),
    )

    batch_id: Mapped[int] = mapped_column(ForeignKey("batches.id"), primary_key=True)
    taken: Mapped[int]
    ready: Mapped[int]
    lost: Mapped[int]
    growing: Mapped[int]


class LinerLotFacts(Base):
    """How a lot stands, kept by the transaction that changes its stages.

    `number` are in it now, `began` came into it. `stage` is the last it went through, on
    `stage_on`. `ready_on` is the day since when its plants are ready, `began_on` its first day,
    `empty_on` the day the last one left.
    """

    __tablename__ = "liner_lot_facts"
    __table_args__ = (
        CheckConstraint("number >= 0 AND began >= number", name="number_range"),
        Index("ix_liner_lot_facts_number", "number"),
    )

    liner_lot_id: Mapped[int] = mapped_column(ForeignKey("liner_lots.id"), primary_key=True)
    began: Mapped[int]
    number: Mapped[int]
    stage: Mapped[str]
    stage_on: Mapped[date | None]
    began_on: Mapped[date | None]
    ready_on: Mapped[date | None]
    empty_on: Mapped[date | None]
    container_id: Mapped[int | None] = mapped_column(ForeignKey("containers.id"))
