"""Checks of a batch, every version of each, and what was lost to which cause."""

from datetime import date, datetime

from sqlalchemy import CheckConstraint, ForeignKey, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from app.store.base import Base, UtcInstant
from app.store.versioned import Versioned

_KNOWN_KIND = "kind IN ('counted', 'sample', 'looked only')"
_KNOWN_ENDING = "ending IN ('', 'dumped', 'cleared unrooted')"
_NOT_NEGATIVE = "rooted >= 0 AND lost >= 0 AND ended >= 0"


class Check(Versioned, Base):
    """A look at a batch on a day, with the counts of its newest version.

    `running` numbers the checks of one batch and day. `rooted`, `lost` and `ended` are new at
    this check. `ended` is how many were dumped or cleared unrooted with it.
    """

    __tablename__ = "checks"
    __table_args__ = (
        UniqueConstraint("batch_id", "checked_on", "running"),
        CheckConstraint(_KNOWN_KIND, name="known_kind"),
        CheckConstraint(_KNOWN_ENDING, name="known_ending"),
        CheckConstraint(_NOT_NEGATIVE, name="counts_not_negative"),
        CheckConstraint("kind = 'counted' OR rooted + lost + ended = 0", name="only_counts_count"),
        CheckConstraint("ended = 0 OR ending <> ''", name="ended_has_kind"),
        CheckConstraint("withdrawn IN (0, 1)", name="withdrawn_flag"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    batch_id: Mapped[int] = mapped_column(ForeignKey("batches.id"))
    checked_on: Mapped[date]
    running: Mapped[int] = mapped_column(default=1)
    kind: Mapped[str]
    rooted: Mapped[int] = mapped_column(default=0)
    callused: Mapped[int | None]
    lost: Mapped[int] = mapped_column(default=0)
    ending: Mapped[str] = mapped_column(default="")
    ended: Mapped[int] = mapped_column(default=0)
    withdrawn: Mapped[int] = mapped_column(default=0)


class CheckVersion(Base):
    """One version of a check as it was recorded or corrected; never edited, by trigger.

    `typed_as` keeps how rooted was typed: new, all so far, or left. A sample looked at
    `sample_of` cuttings and found `sample_rooted`.
    """

    __tablename__ = "check_versions"
    __table_args__ = (
        UniqueConstraint("check_id", "number"),
        CheckConstraint(_KNOWN_KIND, name="known_kind"),
        CheckConstraint(_KNOWN_ENDING, name="known_ending"),
        CheckConstraint(_NOT_NEGATIVE, name="counts_not_negative"),
        CheckConstraint(
            "sample_of IS NULL OR (sample_rooted >= 0 AND sample_rooted <= sample_of)",
            name="sample_range",
        ),
        CheckConstraint("number = 1 OR reason <> ''", name="correction_has_reason"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    check_id: Mapped[int] = mapped_column(ForeignKey("checks.id"))
    number: Mapped[int]
    checked_on: Mapped[date]
    recorded_at: Mapped[datetime] = mapped_column(UtcInstant)
    recorded_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    checked_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"))
    reason: Mapped[str] = mapped_column(default="")
    withdrawn: Mapped[int] = mapped_column(default=0)
    kind: Mapped[str]
    rooted: Mapped[int] = mapped_column(default=0)
    typed_as: Mapped[str] = mapped_column(default="new")
    callused: Mapped[int | None]
    restuck_into_id: Mapped[int | None] = mapped_column(ForeignKey("batches.id"))
    lost: Mapped[int] = mapped_column(default=0)
    unrooted_counted: Mapped[int | None]
    ending: Mapped[str] = mapped_column(default="")
    ended: Mapped[int] = mapped_column(default=0)
    sample_of: Mapped[int | None]
    sample_rooted: Mapped[int | None]
    rooted_means: Mapped[str] = mapped_column(default="")
    medium_c: Mapped[float | None]
    humidity_percent: Mapped[float | None]
    walk_key: Mapped[str] = mapped_column(default="")
    note: Mapped[str] = mapped_column(default="")


class CheckLoss(Base):
    """So many newly lost to one cause, in one version of a check."""

    __tablename__ = "check_losses"
    __table_args__ = (CheckConstraint("number > 0", name="number_positive"),)

    check_version_id: Mapped[int] = mapped_column(ForeignKey("check_versions.id"), primary_key=True)
    lost_cause_id: Mapped[int] = mapped_column(ForeignKey("lost_causes.id"), primary_key=True)
    number: Mapped[int]
