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
from app.domain.card_advisories import CardSays, card_advisories, card_hints
from app.domain.card_months import months_words
from app.domain.cutting_types import Cut, CuttingType
from app.domain.days import MONTHS, day_long
from app.domain.hormone_limits import hormone_advisories
from app.domain.hormones import NO_HORMONE
from app.domain.material_ages import age_advisories
from app.domain.method_cards import group_says
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
NO_CARD: Final = CardSays()


@dataclass(frozen=True, kw_only=True)
class Surroundings:
    """What is known around an entry, outside of it.

    `card` is what the method card says; `card_months` are its months, turned for the nursery's
    half of the globe.
    """

    today: date
    genus: str = ""
    container_kind: str = ""
    card_months: frozenset[int] = frozenset()
    card: CardSays = NO_CARD

    def says(self, group: str) -> bool:
        """Return whether the card says anything in this group, and so speaks before the type."""
        return group_says(self.card.values, group=group)


def usual_ways(
    cutting_type: CuttingType | None, *, genus: str = "", card: CardSays = NO_CARD
) -> tuple[Advisory, ...]:
    """Return what is usual for this type and genus, one sentence for each field it concerns.

    Where the method card says something of a field, that is said instead.
    """
    said = tuple(card_hints(card))
    spoken_for = {each.field for each in said}
    usual = (each for each in _usual(cutting_type, genus=genus) if each.field not in spoken_for)
    return (*said, *usual)


def deviations(entry: BatchEntry, *, around: Surroundings) -> tuple[Advisory, ...]:
    """Return where an entry departs from what is usual, the fields in their order on the form."""
    return (
        *_about_time(entry, around),
        *_about_sources(entry),
        *age_advisories(entry),
        *_about_length(entry, around),
        *_about_material(entry, around),
        *card_advisories(entry, card=around.card),
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
            f"({months_words(around.card_months)}): the shoots are softer or riper than it reckons "
            "with."
        )
        standing = around.card.standing("months")
        yield Advisory(field="taken_on", sentence=sentence, standing=standing)


def _about_length(entry: BatchEntry, around: Surroundings) -> Iterator[Advisory]:
    usual = LENGTHS_CM.get(entry.cutting_type) if entry.cutting_type else None
    if entry.length_cm is not None and usual is not None and not around.says("length"):
        low, high = usual
        if not low <= entry.length_cm <= high:
            span = f"{low} to {high} cm" if low else f"up to about {high} cm"
            sentence = (
                f"{entry.length_cm:g} cm: {entry.cutting_type} cuttings are usually {span}; "
                "shorter ones have little in store, longer ones dry out."
            )
            yield _practice("length_cm", sentence)


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
    few_or_many = entry.leaves_left is not None and not _within(entry.leaves_left, LEAVES_LEFT)
    if softwood and few_or_many and not around.says("leaves"):
        sentence = (
            f"{entry.leaves_left} leaves left: softwood usually keeps two or three; fewer hardly "
            "feed it, more dry it out."
        )
        yield _practice("leaves_left", sentence)
    if softwood and entry.cut is Cut.INTERNODAL and not around.says("cut"):
        sentence = "Softwood is usually cut just below a node, where roots come most readily."
        yield _practice("cut", sentence)
    budded = entry.flowering or entry.growth_stage in BUDDED_STAGES
    if budded and not entry.buds_removed:
        sentence = (
            "The shoots were in flower or bud: such stems are best avoided, or pinched out, since "
            "flowers draw on what roots need."
        )
        yield _practice("flowering", sentence)


def _about_place(entry: BatchEntry, around: Surroundings) -> Iterator[Advisory]:
    in_middle = entry.placed == "middle" or entry.per_place == 1
    if around.container_kind == "pot" and in_middle:
        sentence = "Several cuttings round the edge of a pot drain better than one in the middle."
        yield _practice("placed", sentence)
    odd = entry.bottom_heat_c is not None and not _within(entry.bottom_heat_c, MEDIUM_C)
    if odd and not around.says("bottom_heat"):
        low, high = MEDIUM_C
        sentence = (
            f"{entry.bottom_heat_c:g} °C: a medium is usually kept at {low} to {high} °C; colder, "
            "roots are slow, warmer, the base rots more easily."
        )
        yield _practice("bottom_heat_c", sentence)


def _about_genus(entry: BatchEntry, around: Surroundings) -> Iterator[Advisory]:
    bare = around.genus in BARE_AND_UNDIPPED
    dipped = entry.hormone is not None and entry.hormone.substance != NO_HORMONE
    if bare and dipped and not around.says("hormone"):
        yield _practice("hormone", f"{around.genus} is usually stuck without hormone.")
    if around.says("cover"):
        return
    if bare and is_covered(entry.cover):
        sentence = f"{around.genus} is usually left uncovered, as closed air rots it."
        yield _practice("cover", sentence)
    elif not bare and entry.cutting_type is CuttingType.SOFTWOOD and is_uncovered(entry.cover):
        sentence = "Softwood is usually covered and kept out of full sun, or it wilts."
        yield _practice("cover", sentence)


def _practice(field: str, sentence: str) -> Advisory:
    return Advisory(field=field, sentence=sentence, standing=COMMON_PRACTICE)


def _within(value: float, span: tuple[int, int]) -> bool:
    return span[0] <= value <= span[1]


def _name(cutting_type: CuttingType) -> str:
    return cutting_type.value.capitalize()
