"""Names in a notebook sheet: which of them the log knows, and which would be made with it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Final, TypeAlias

from app.domain.codes import parse_stock_plant_code, stock_plant_code
from app.domain.hormones import Hormone
from app.domain.notebook import BatchWords, LineRemark, NotebookBatch
from app.domain.notebook_comparison import ComparedBatch, ComparedCheck, LineState
from app.domain.people import name_key
from app.domain.plant_name_parts import PlantName
from app.domain.plant_names import kept_plant_name

HormoneKey: TypeAlias = tuple[str, str, int | None]


@dataclass(frozen=True, kw_only=True)
class KnownNames:
    """What the log knows by name, each folded for comparing (`name_key`).

    `plants` are plain lines; `alike` gives the one plain line that a name without quotation marks
    and capitals may mean. `stock_plants` gives the code for a code or for the name it had in a
    sheet, `mothers` the plant of each code.
    """

    plants: frozenset[str] = frozenset()
    alike: Mapping[str, str] = field(default_factory=dict)
    stock_plants: Mapping[str, str] = field(default_factory=dict)
    mothers: Mapping[str, str] = field(default_factory=dict)
    mixes: frozenset[str] = frozenset()
    containers: frozenset[str] = frozenset()
    benches: frozenset[str] = frozenset()
    people: frozenset[str] = frozenset()
    causes: frozenset[str] = frozenset()
    hormones: Mapping[HormoneKey, Hormone] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class NewStockPlant:
    """A stock plant that a sheet names and the log does not know, with its plant's plain name."""

    name: str
    plant: str


@dataclass(frozen=True, kw_only=True)
class NewNames:
    """Names that would be made with the sheet, in the order they come."""

    plants: tuple[PlantName, ...] = ()
    stock_plants: tuple[NewStockPlant, ...] = ()
    mixes: tuple[str, ...] = ()
    containers: tuple[str, ...] = ()
    benches: tuple[str, ...] = ()
    people: tuple[str, ...] = ()
    causes: tuple[str, ...] = ()
    hormones: tuple[Hormone, ...] = ()

    @property
    def listed(self) -> tuple[tuple[str, tuple[str, ...]], ...]:
        """The kinds of which there are new names, each with these names as they read."""
        kinds = (
            ("plant names", tuple(name.plain for name in self.plants)),
            ("stock plants", tuple(plant.name for plant in self.stock_plants)),
            ("mixes", self.mixes),
            ("containers", self.containers),
            ("benches", self.benches),
            ("people", self.people),
            ("causes of loss", self.causes),
            ("hormones", tuple(hormone.label for hormone in self.hormones)),
        )
        return tuple((kind, names) for kind, names in kinds if names)


def folded_plant(plain: str) -> str:
    """Return a plant's name without quotation marks and capitals, for finding one alike."""
    return " ".join(plain.replace("'", " ").casefold().split())


def hormone_key(hormone: Hormone) -> HormoneKey:
    """Return a hormone folded for comparing."""
    return (hormone.substance.casefold(), hormone.form.casefold(), hormone.ppm)


def with_known_names(
    batch: NotebookBatch,
    *,
    known: KnownNames,
    mothers: dict[str, str],
    minded: list[LineRemark],
) -> NotebookBatch:
    """Return the batch with its plant, stock plants and hormone as the log writes them.

    `mothers` starts as the known ones and learns those that the sheet brings.
    """
    words = batch.words
    changes: dict[str, object] = {}
    plain = batch.plant.plain
    if plain not in known.plants and (alike := known.alike.get(folded_plant(plain))):
        sentence = f"{plain} is taken as {alike}, which is in the log."
        minded.append(LineRemark(line=batch.lines[0], column="plant", sentence=sentence))
        changes["plant"] = kept_plant_name(alike)
    codes = tuple(dict.fromkeys(_known_code(name, known=known) for name in words.stock_plant))
    if codes != words.stock_plant:
        changes["stock_plant"] = codes
    if words.hormone:
        written = known.hormones.get(hormone_key(words.hormone), words.hormone)
        if written != words.hormone:
            changes["hormone"] = written
    _mind_mothers(batch, codes=codes, mothers=mothers, minded=minded)
    if not changes:
        return batch
    changed: BatchWords = replace(words, **changes)  # type: ignore[arg-type]
    return replace(batch, words=changed)


def find_new_names(batches: Iterable[ComparedBatch], *, known: KnownNames) -> NewNames:
    """Return the names that writing these batches would make."""
    found = _Found(known)
    for compared in batches:
        if compared.state is not LineState.SAME and not compared.wrong:
            found.add(compared)
    return found.names()


_LISTS: Final = {"mix": "mixes", "container": "containers", "bench": "benches", "person": "people"}


class _Found:
    """Gathers new names, each once however it is written."""

    def __init__(self, known: KnownNames) -> None:
        self._known = known
        self._lists: dict[str, dict[str, str]] = {name: {} for name in (*_LISTS.values(), "causes")}
        self._plants: dict[str, PlantName] = {}
        self._stock_plants: dict[str, NewStockPlant] = {}
        self._hormones: dict[HormoneKey, Hormone] = {}

    def add(self, compared: ComparedBatch) -> None:
        words = compared.words
        name = words.plant or compared.batch.plant
        if name.plain not in self._known.plants:
            self._plants.setdefault(name.plain, name)
        for code in words.stock_plant:
            if name_key(code) not in self._known.stock_plants:
                new = NewStockPlant(name=code, plant=name.plain)
                self._stock_plants.setdefault(name_key(code), new)
        for column, kind in _LISTS.items():
            self._note(kind, getattr(words, column))
        if words.hormone and hormone_key(words.hormone) not in self._known.hormones:
            self._hormones.setdefault(hormone_key(words.hormone), words.hormone)
        for check in compared.checks:
            if check.state is not LineState.SAME:
                self._add_check(check)

    def _add_check(self, check: ComparedCheck) -> None:
        self._note("people", check.check.checked_by)
        for loss in check.counts.lost:
            self._note("causes", loss.cause)

    def names(self) -> NewNames:
        return NewNames(
            plants=tuple(self._plants.values()),
            stock_plants=tuple(self._stock_plants.values()),
            hormones=tuple(self._hormones.values()),
            **{kind: tuple(names.values()) for kind, names in self._lists.items()},
        )

    def _note(self, kind: str, name: str) -> None:
        if name and name_key(name) not in getattr(self._known, kind):
            self._lists[kind].setdefault(name_key(name), name)


def _known_code(name: str, *, known: KnownNames) -> str:
    code = known.stock_plants.get(name_key(name))
    number = parse_stock_plant_code(name)
    if code is None and number is not None:
        return stock_plant_code(number)
    return code or name


def _mind_mothers(
    batch: NotebookBatch,
    *,
    codes: tuple[str, ...],
    mothers: dict[str, str],
    minded: list[LineRemark],
) -> None:
    for code in codes:
        plant = mothers.setdefault(code, batch.plant.plain)
        if plant != batch.plant.plain:
            sentence = f"{code} is {plant}, this batch has another plant name."
            minded.append(LineRemark(line=batch.lines[0], column="stock_plant", sentence=sentence))
