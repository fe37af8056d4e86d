"""Facts of the trade shown beside a batch: what is usual, and what departs from it.

Nothing here refuses an entry. Every sentence says where it comes from; what has no published
source says so. `urgent` marks what is more likely a slip, or a danger, than a choice.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Final

from app.domain.batch_rules import every_source_numbered
from app.domain.batches import BatchEntry, SourceKind, is_covered, is_uncovered
from app.domain.card_months import months_words
from app.domain.cutting_types import Cut, CuttingType
from app.domain.days import MONTHS, day_long
from app.domain.hormone_limits import hormone_advisories
from app.domain.hormones import NO_HORMONE
from app.domain.standings import COMMON_PRACTICE, Advisory

# All of the following: common practice, no source.
LENGTHS_CM: Final = {
    CuttingType.SOFTWOOD: (5, 10),
    CuttingType.SEMI_RIPE: (10, 15),
    CuttingType.HARDWOOD: (0, 30),
}
LEAVES_LEFT: Final = (2, 3)
MEDIUM_C: Final = (15, 25)
BARE_AND_UNDIPPED: Final = frozenset(
    {"Pelargonium", "Crassula", "Echeveria", "Kalanchoe", "Sedum", "Opuntia"}
)
BUDDED_STAGES: Final = frozenset({"in bud", "in flower"})
LONG_AGO_DAYS: Final = 60


@dataclass(frozen=True, kw_only=True)
class Surroundings:
    """What is known around an entry, outside of it.

    `card_months` are the months of the method card, turned for the nursery's half of the globe;
    `card_cut` is the cut it asks for and `card_standing` where the months come from.
    """

    today: date
    genus: str = ""
    container_kind: str = ""
    card_months: frozenset[int] = frozenset()
    card_standing: str = COMMON_PRACTICE
    card_cut: Cut | None = None


def usual_ways(cutting_type: CuttingType | None, *, genus: str = "") -> tuple[Advisory, ...]:
    """Return what is usual for this type and genus, one sentence for each field it concerns."""
    return tuple(_usual(cutting_type, genus=genus))


def deviations(entry: BatchEntry, *, around: Surroundings) -> tuple[Advisory, ...]:
    """Return where an entry departs from what is usual, the fields in their order on the form."""
    return (
        *_about_time(entry, around),
        *_about_sources(entry),
        *_about_material(entry, around),
        *hormone_advisories(entry.hormone, dip_s=entry.dip_s),
        *_about_place(entry, around),
        *_about_genus(entry, around),
    )


def _usual(cutting_type: CuttingType | None, *, genus: str) -> Iterator[Advisory]:
    if cutting_type in LENGTHS_CM:
        low, high = LENGTHS_CM[cutting_type]
        span = f"{low} to {high} cm" if low else f"up to about {high} cm"
        yield _practice("length_cm", f"{_name(cutting_type)} cuttings are usually {span}.")
    if cutting_type is CuttingType.SOFTWOOD:
        yield _practice("leaves_left", "Two or three leaves are usually left on.")
        if genus not in BARE_AND_UNDIPPED:
            yield _practice("cover", "Softwood is usually covered and kept out of full sun.")
    yield _practice("cut", "A nodal cutting is cut just below a node.")
    yield _practice("flowering", "Shoots in flower or bud are best avoided.")
    yield _practice("mix", "Equal parts of perlite and compost are a usual start.")
    yield _practice(
        "placed", "In a pot, several cuttings round the edge drain better than one in the middle."
    )
    if genus in BARE_AND_UNDIPPED:
        yield _practice("cover", f"{genus} is usually left uncovered.")
        yield _practice("hormone", f"{genus} is usually stuck without hormone.")


def _about_time(entry: BatchEntry, around: Surroundings) -> Iterator[Advisory]:
    if (around.today - entry.stuck_on).days > LONG_AGO_DAYS:
        sentence = f"{day_long(entry.stuck_on)} is long ago: is the year right?"
        yield Advisory(field="stuck_on", sentence=sentence, standing="", urgent=True)
    taken_on = entry.taken_on or entry.stuck_on
    if around.card_months and taken_on.month not in around.card_months:
        sentence = (
            f"{MONTHS[taken_on.month - 1]} is outside the months on the method card "
            f"({months_words(around.card_months)})."
        )
        yield Advisory(field="taken_on", sentence=sentence, standing=around.card_standing)


def _about_sources(entry: BatchEntry) -> Iterator[Advisory]:
    named = sum(line.number or 0 for line in entry.sources)
    if entry.taken is None and every_source_numbered(entry) and named < entry.stuck:
        sentence = f"The sources give {named:,} together, but {entry.stuck:,} were stuck."
        yield Advisory(field="taken", sentence=sentence, standing="")
    for place, line in enumerate(entry.sources):
        if line.kind is SourceKind.COLLECTED and not (line.permitted_by or line.permit):
            sentence = "Collect only with the owner's leave: whose it was is not recorded."
            yield _practice(f"sources-{place}-permitted_by", sentence)


def _about_material(entry: BatchEntry, around: Surroundings) -> Iterator[Advisory]:
    softwood = entry.cutting_type is CuttingType.SOFTWOOD
    if entry.length_cm is not None and entry.cutting_type in LENGTHS_CM:
        low, high = LENGTHS_CM[entry.cutting_type]
        if not low <= entry.length_cm <= high:
            span = f"{low} to {high} cm" if low else f"up to about {high} cm"
            sentence = f"{entry.length_cm:g} cm: {entry.cutting_type} cuttings are usually {span}."
            yield _practice("length_cm", sentence)
    if softwood and entry.leaves_left is not None and not _within(entry.leaves_left, LEAVES_LEFT):
        sentence = f"{entry.leaves_left} leaves left: softwood usually keeps two or three."
        yield _practice("leaves_left", sentence)
    if softwood and entry.cut is Cut.INTERNODAL and around.card_cut is not Cut.INTERNODAL:
        yield _practice("cut", "Softwood is usually cut just below a node.")
    budded = entry.flowering or entry.growth_stage in BUDDED_STAGES
    if budded and not entry.buds_removed:
        sentence = "The shoots were in flower or bud: such stems are best avoided, or pinched out."
        yield _practice("flowering", sentence)


def _about_place(entry: BatchEntry, around: Surroundings) -> Iterator[Advisory]:
    in_middle = entry.placed == "middle" or entry.per_place == 1
    if around.container_kind == "pot" and in_middle:
        sentence = "Several cuttings round the edge of a pot drain better than one in the middle."
        yield _practice("placed", sentence)
    if entry.bottom_heat_c is not None and not _within(entry.bottom_heat_c, MEDIUM_C):
        low, high = MEDIUM_C
        sentence = f"{entry.bottom_heat_c:g} °C: a medium is usually kept at {low} to {high} °C."
        yield _practice("bottom_heat_c", sentence)


def _about_genus(entry: BatchEntry, around: Surroundings) -> Iterator[Advisory]:
    if around.genus in BARE_AND_UNDIPPED:
        if is_covered(entry.cover):
            yield _practice("cover", f"{around.genus} is usually left uncovered.")
        if entry.hormone is not None and entry.hormone.substance != NO_HORMONE:
            yield _practice("hormone", f"{around.genus} is usually stuck without hormone.")
    elif entry.cutting_type is CuttingType.SOFTWOOD and is_uncovered(entry.cover):
        yield _practice("cover", "Softwood is usually covered and kept out of full sun.")


def _practice(field: str, sentence: str) -> Advisory:
    return Advisory(field=field, sentence=sentence, standing=COMMON_PRACTICE)


def _within(value: float, span: tuple[int, int]) -> bool:
    return span[0] <= value <= span[1]


def _name(cutting_type: CuttingType) -> str:
    return cutting_type.value.capitalize()
