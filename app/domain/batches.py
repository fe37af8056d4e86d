"""A batch as it is entered: everything that is said about it when it is stuck.

What must hold for it stands in `batch_rules`, what is merely unusual in `advisories`.
"""

from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from typing import Final

from app.domain.cutting_types import Cut, CuttingType, Section
from app.domain.hormones import Hormone
from app.domain.way_details import NOTHING, WayDetails


class SourceKind(StrEnum):
    """Where cuttings come from."""

    STOCK_PLANT = "stock plant"
    BOUGHT_IN = "bought in"
    COLLECTED = "collected"


USUAL_COVERS: Final = (
    "none", "mist", "fog", "closed case", "polythene", "fleece", "glass", "covered",
)  # fmt: skip
UNCOVERED: Final = frozenset({"none", "no", "uncovered", "open"})
USUAL_PLACES: Final = ("middle", "round the edge", "spread evenly")
USUAL_SHADES: Final = ("none", "light", "heavy")
GROWTH_STAGES: Final = (
    "soft new growth", "firm at the base", "firm all along", "woody", "dormant", "in bud",
    "in flower",
)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class SourceLine:
    """One line of where cuttings came from; `number` from there, None where nobody knows.

    What was bought in has a supplier, lot, passport and condition on arrival; what was collected
    elsewhere a place in words, who gave leave and the reference of that, its `permit`.
    """

    kind: SourceKind
    stock_plant_id: int | None = None
    supplier: str = ""
    lot: str = ""
    passport: str = ""
    condition: str = ""
    place: str = ""
    permitted_by: str = ""
    permit: str = ""
    number: int | None = None


@dataclass(frozen=True, kw_only=True)
class BatchEntry:
    """All that is known of a batch at sticking; None and "" mean not recorded.

    `trays`, `per_tray` and `gaps` are kept where the number was given in trays. `stored_hours`
    and `stored_c` are the time between taking and sticking; `gathered_hours`, `made_hours` and
    `hours` what gathering, making and sticking took. `dip_s` are seconds in the hormone,
    `per_place` cuttings in one plug or pot, `placed` where in it. `flowering` says whether the
    shoots were in flower or bud. `taken_over` names the fields whose values come from the method
    card unmeasured. `hold_reason` is the head's reason for taking from a stock plant on hold,
    `rights_reason` that for a protected variety without a licence. `details` are those of leaf,
    scale and root cuttings and of grafts.
    """

    plant_name_id: int
    stuck_on: date
    stuck: int
    sources: tuple[SourceLine, ...] = ()
    trays: int | None = None
    per_tray: int | None = None
    gaps: int | None = None
    taken_on: date | None = None
    taken: int | None = None
    thrown_out: int | None = None
    thrown_out_cause: str = ""
    stored_hours: float | None = None
    stored_c: float | None = None
    stored_how: str = ""
    gathered_by_id: int | None = None
    gathered_hours: float | None = None
    made_by_id: int | None = None
    made_hours: float | None = None
    stuck_by_id: int | None = None
    hours: float | None = None
    cutting_type: CuttingType | None = None
    cut: Cut | None = None
    section: Section | None = None
    growth_stage: str = ""
    length_cm: float | None = None
    leaves_left: int | None = None
    leaves_halved: bool | None = None
    wounded: bool | None = None
    buds_removed: bool | None = None
    flowering: bool | None = None
    hormone: Hormone | None = None
    dip_s: float | None = None
    mix_version_id: int | None = None
    mix_lot_id: int | None = None
    container_id: int | None = None
    per_place: int | None = None
    placed: str = ""
    cover: str = ""
    bottom_heat_c: float | None = None
    shade: str = ""
    bench_id: int | None = None
    method_card_version_id: int | None = None
    taken_over: tuple[str, ...] = ()
    restuck_from_id: int | None = None
    trial_block: str = ""
    own_reference: str = ""
    reference_source: str = ""
    hold_reason: str = ""
    rights_reason: str = ""
    notes: str = ""
    details: WayDetails = NOTHING


CARD_FIELDS: Final = (
    "cut", "section", "length_cm", "leaves_left", "hormone", "mix", "container", "cover",
    "bottom_heat_c",
)  # fmt: skip
"""The fields of a batch that a method card can fill."""


def copy_of(entry: BatchEntry, *, today: date) -> BatchEntry:
    """Return what to start from for another batch like this one: all but the numbers.

    Days are kept if it was stuck today, as the same session goes on; else it is stuck today, and
    taken today if it was taken on the day of sticking. What concerns that batch alone is left
    out: taken and thrown out, its hours, where it was re-stuck from, own reference and notes.
    """
    same_day = entry.taken_on == entry.stuck_on
    taken_on = entry.taken_on if entry.stuck_on == today else today if same_day else None
    return replace(
        entry,
        stuck=0,
        trays=None,
        per_tray=None,
        gaps=None,
        stuck_on=today,
        taken_on=taken_on,
        taken=None,
        thrown_out=None,
        thrown_out_cause="",
        stored_hours=entry.stored_hours if entry.stuck_on == today else None,
        gathered_hours=None,
        made_hours=None,
        hours=None,
        sources=tuple(replace(line, number=None) for line in entry.sources),
        restuck_from_id=None,
        own_reference="",
        reference_source="",
        hold_reason="",
        rights_reason="",
        notes="",
    )


def restuck_copy_of(entry: BatchEntry, *, batch_id: int, today: date) -> BatchEntry:
    """Return what to start from for cuttings of this batch that are stuck again today.

    Where they first came from is told by the batch they stood in, and the hormone is asked afresh.
    """
    again = copy_of(entry, today=today)
    return replace(
        again,
        taken_on=None,
        stored_hours=None,
        stored_c=None,
        stored_how="",
        gathered_by_id=None,
        sources=(),
        hormone=None,
        dip_s=None,
        taken_over=tuple(field for field in again.taken_over if field != "hormone"),
        restuck_from_id=batch_id,
    )


def is_uncovered(cover: str) -> bool:
    """Return whether the words of a cover say that there is none; a blank says nothing."""
    return cover.strip().lower() in UNCOVERED


def is_covered(cover: str) -> bool:
    """Return whether the words of a cover name one; a blank says nothing."""
    return bool(cover.strip()) and not is_uncovered(cover)
