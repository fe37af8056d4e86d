"""What to have ready for a day's or week's sticking: containers, media, benches, labels.

Halves of a tray are no trays and halves of a bag no bags: whatever is carried is rounded up.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from math import ceil
from typing import Final

from app.domain.calculator_answers import ASSUMED_SHRINKAGE
from app.domain.container_volumes import loose_litres, whole_bags
from app.domain.containers import ContainerKind
from app.domain.hormones import NO_HORMONE, Hormone
from app.domain.mixes import MixPart, ingredient_volumes
from app.domain.standings import COMMON_PRACTICE, Advisory
from app.domain.worked_sums import figure

_ML_PER_L: Final = 1000
_POWDER_WORDS: Final = ("powder", "talc", "dust", "gel")


@dataclass(frozen=True, kw_only=True)
class ContainerMeasure:
    """A container: `plugs` per tray or None, `volume_ml` of one plug or pot or None."""

    name: str
    kind: ContainerKind
    plugs: int | None = None
    volume_ml: float | None = None


@dataclass(frozen=True, kw_only=True)
class MixRecipe:
    """A mix as it is made now; `shrinkage_share` (0 to 0.5) is None where nobody measured it."""

    name: str
    parts: tuple[MixPart, ...]
    shrinkage_share: float | None = None


@dataclass(frozen=True, kw_only=True)
class BatchToStick:
    """One batch that is to be stuck: so many cuttings, `per_place` of them in each plug or pot.

    `trays` is given where it was typed so, for trays like the container; an open tray's number is
    known from it alone.
    """

    plant: str
    cuttings: int
    per_place: int = 1
    trays: int | None = None
    container: ContainerMeasure | None = None
    mix: MixRecipe | None = None
    hormone: Hormone | None = None
    bench: str = ""


@dataclass(frozen=True, kw_only=True)
class FilledContainers:
    """Whole trays or pots of one kind; `litres` fill them, None where no volume is known."""

    name: str
    number: int
    are: ContainerKind
    litres: float | None

    @property
    def words(self) -> str:
        """Such as "7 x 84-plug tray"."""
        return f"{self.number:,} x {self.name}"


@dataclass(frozen=True, kw_only=True)
class IngredientNeed:
    """Litres of one ingredient, with whole bags where the size of a bag is given."""

    ingredient: str
    litres: float
    bags: int | None = None

    @property
    def words(self) -> str:
        """Such as "54.3 l: 2 bags"."""
        shown = figure(self.litres, unit="l")
        if self.bags is None:
            return shown
        return f"{shown}: {self.bags:,} {'bag' if self.bags == 1 else 'bags'}"


@dataclass(frozen=True, kw_only=True)
class MixNeed:
    """Litres of a made mix, and what goes into it; `assumed` where the shrinkage is."""

    name: str
    litres: float
    ingredients: tuple[IngredientNeed, ...]
    shrinkage_share: float
    assumed: bool

    @property
    def words(self) -> str:
        """Such as "Bark mix: 38.5 l"."""
        return f"{self.name}: {figure(self.litres, unit='l')}"


@dataclass(frozen=True, kw_only=True)
class HormoneNeed:
    """A hormone, how many cuttings are to go into it, and whether it is mixed with water."""

    hormone: Hormone
    cuttings: int

    @property
    def is_liquid(self) -> bool:
        """Whether it is a dip or a soak, and not a powder or gel taken as it comes."""
        form = self.hormone.form.lower()
        return not any(word in form for word in _POWDER_WORDS)

    @property
    def is_soak(self) -> bool:
        """Whether cuttings stand in it for hours."""
        return "soak" in self.hormone.form.lower()


@dataclass(frozen=True, kw_only=True)
class BenchNeed:
    """A bench, the trays that are to come onto it, and its room (None where it has no measure)."""

    bench: str
    trays: int
    room: int | None

    @property
    def over(self) -> int:
        """How many trays find no room."""
        return 0 if self.room is None else max(0, self.trays - self._free)

    @property
    def words(self) -> str:
        """Such as "Mist 1 (4 trays more, room for 12)"."""
        more = f"{self.trays:,} {'tray' if self.trays == 1 else 'trays'} more"
        return (
            f"{self.bench} ({more})"
            if self.room is None
            else (f"{self.bench} ({more}, room for {self._free:,})")
        )

    @property
    def _free(self) -> int:
        return max(self.room or 0, 0)


@dataclass(frozen=True, kw_only=True)
class PreparingSheet:
    """All there is to have ready; `containers` has one line for each batch, None where unknown.

    `ingredients` are those of all mixes together: bags are opened once, not once a mix.
    """

    batches: tuple[BatchToStick, ...]
    containers: tuple[FilledContainers | None, ...]
    mixes: tuple[MixNeed, ...]
    ingredients: tuple[IngredientNeed, ...]
    hormones: tuple[HormoneNeed, ...]
    benches: tuple[BenchNeed, ...]
    advisories: tuple[Advisory, ...]

    @property
    def cuttings(self) -> int:
        """How many are to be stuck in all."""
        return sum(batch.cuttings for batch in self.batches)

    @property
    def labels(self) -> int:
        """One for each tray, and one for a batch in pots or without a container."""
        return sum(labels_for(filled) for filled in self.containers)

    @property
    def totals(self) -> tuple[tuple[str, int], ...]:
        """How many containers of each name."""
        return totals(filled for filled in self.containers if filled)


def prepare(
    batches: tuple[BatchToStick, ...],
    *,
    room: dict[str, int | None],
    potting_share: float = 1.0,
    bag_litres: float | None = None,
) -> PreparingSheet:
    """Return what to have ready for these batches.

    `room` has the trays for which each bench has room now. `potting_share` (above 0, to 1) is the
    potting reference: of 100 l of loose medium, how many are left in the containers.
    """
    filled = tuple(fill_containers(batch) for batch in batches)
    mixes = tuple(_mixes(batches, filled, potting_share=potting_share))
    benches = tuple(_benches(batches, filled, room=room))
    return PreparingSheet(
        batches=batches,
        containers=filled,
        mixes=mixes,
        ingredients=tuple(_altogether(mixes, bag_litres=bag_litres)),
        hormones=tuple(_hormones(batches)),
        benches=benches,
        advisories=(*_gaps(batches, filled), *_assumptions(mixes), *_crowded(benches)),
    )


def fill_containers(batch: BatchToStick) -> FilledContainers | None:
    """Return the whole trays or pots that a batch fills; None where that cannot be told.

    Rows in the ground fill none. How many cuttings an open tray takes is no measure of the tray,
    so its number counts only where trays were typed.
    """
    container = batch.container
    if container is None or container.kind is ContainerKind.LINED_OUT:
        return None
    places = ceil(batch.cuttings / batch.per_place)
    if container.kind is ContainerKind.POT:
        number, filled_places = places, places
    elif container.plugs or batch.trays:
        number = batch.trays or ceil(places / (container.plugs or 1))
        filled_places = number * (container.plugs or 1)
    else:
        return None
    volume = container.volume_ml
    return FilledContainers(
        name=container.name,
        number=number,
        are=container.kind,
        litres=None if volume is None else filled_places * volume / _ML_PER_L,
    )


def labels_for(filled: FilledContainers | None) -> int:
    """Return the labels of one batch: one for each tray, else one."""
    return filled.number if filled and filled.are is ContainerKind.TRAY else 1


def totals(filled: Iterable[FilledContainers]) -> tuple[tuple[str, int], ...]:
    """Return how many containers of each name there are, in the order they come."""
    found: dict[str, int] = {}
    for each in filled:
        found[each.name] = found.get(each.name, 0) + each.number
    return tuple(found.items())


def _mixes(
    batches: tuple[BatchToStick, ...],
    filled: tuple[FilledContainers | None, ...],
    *,
    potting_share: float,
) -> Iterator[MixNeed]:
    litres: dict[str, float] = {}
    recipes: dict[str, MixRecipe] = {}
    for batch, containers in zip(batches, filled, strict=True):
        if batch.mix is None or containers is None or containers.litres is None:
            continue
        recipes[batch.mix.name] = batch.mix
        litres[batch.mix.name] = litres.get(batch.mix.name, 0.0) + containers.litres
    for name, in_containers in litres.items():
        recipe = recipes[name]
        made = loose_litres(in_containers, potting_share=potting_share)
        assumed = recipe.shrinkage_share is None and len(recipe.parts) > 1
        share = ASSUMED_SHRINKAGE if assumed else recipe.shrinkage_share or 0.0
        yield MixNeed(
            name=name,
            litres=made,
            ingredients=tuple(
                IngredientNeed(ingredient=each.ingredient, litres=each.litres)
                for each in ingredient_volumes(recipe.parts, litres=made, shrinkage_share=share)
            ),
            shrinkage_share=share,
            assumed=assumed,
        )


def _altogether(
    mixes: tuple[MixNeed, ...], *, bag_litres: float | None
) -> Iterator[IngredientNeed]:
    litres: dict[str, float] = {}
    for mix in mixes:
        for each in mix.ingredients:
            litres[each.ingredient] = litres.get(each.ingredient, 0.0) + each.litres
    for ingredient, number in litres.items():
        bags = None if bag_litres is None else whole_bags(number, bag_litres=bag_litres)
        yield IngredientNeed(ingredient=ingredient, litres=number, bags=bags)


def _hormones(batches: tuple[BatchToStick, ...]) -> Iterator[HormoneNeed]:
    cuttings: dict[Hormone, int] = {}
    for batch in batches:
        if batch.hormone is not None and batch.hormone.substance != NO_HORMONE:
            cuttings[batch.hormone] = cuttings.get(batch.hormone, 0) + batch.cuttings
    for hormone, number in cuttings.items():
        yield HormoneNeed(hormone=hormone, cuttings=number)


def _benches(
    batches: tuple[BatchToStick, ...],
    filled: tuple[FilledContainers | None, ...],
    *,
    room: dict[str, int | None],
) -> Iterator[BenchNeed]:
    trays: dict[str, int] = {}
    for batch, containers in zip(batches, filled, strict=True):
        if batch.bench:
            is_tray = containers is not None and containers.are is ContainerKind.TRAY
            number = containers.number if containers and is_tray else 0
            trays[batch.bench] = trays.get(batch.bench, 0) + number
    for bench, number in trays.items():
        yield BenchNeed(bench=bench, trays=number, room=room.get(bench))


def _gaps(
    batches: tuple[BatchToStick, ...], filled: tuple[FilledContainers | None, ...]
) -> Iterator[Advisory]:
    for batch, containers in zip(batches, filled, strict=True):
        if missing := _missing(batch, containers):
            sentence = f"{batch.plant}: {missing}, so it is not in the figures of the media."
            yield Advisory(field="", sentence=sentence, standing="")


def _missing(batch: BatchToStick, containers: FilledContainers | None) -> str:
    container = batch.container
    if container is None:
        return "no container is chosen"
    if container.kind is ContainerKind.LINED_OUT:
        return ""
    if containers is None:
        return f"{container.name} has no plugs: type so many trays of so many"
    if containers.litres is None:
        return f"the volume of {container.name} is not recorded"
    return "" if batch.mix else "no mix is chosen"


def _assumptions(mixes: tuple[MixNeed, ...]) -> Iterator[Advisory]:
    for mix in mixes:
        if mix.assumed:
            sentence = (
                f"Nobody measured how much {mix.name} shrinks on mixing: "
                f"{ASSUMED_SHRINKAGE:.0%} is taken, 5 to 15% is usual."
            )
            yield Advisory(field="", sentence=sentence.replace("%", " %"), standing=COMMON_PRACTICE)


def _crowded(benches: tuple[BenchNeed, ...]) -> Iterator[Advisory]:
    for need in benches:
        if need.over:
            sentence = f"{need.words}: clear or find room for {need.over:,}."
            yield Advisory(field="", sentence=sentence, standing="", urgent=True)
