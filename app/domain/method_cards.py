"""Method cards: how a genus, or one species of it, is usually taken, and where that comes from."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Final

from app.domain.card_steps import CardStep, CardTrouble, accepted_steps, accepted_troubles
from app.domain.cutting_types import Cut, CuttingType, Section
from app.domain.hormones import HIGHEST_PPM
from app.domain.problems import NotAccepted, Problem

THIS_NURSERY: Final = "this nursery"
MOST_WEEKS: Final = 156
MOST_LENGTH_CM: Final = 200
MOST_LEAVES: Final = 50
WARMEST_C: Final = 40
# What one A4 page holds in the smallest type that is still read at arm's length.
MOST_LETTERS: Final = 6000

# What has a standing of its own, with the fields that make it up.
GROUPS: Final[Mapping[str, tuple[str, ...]]] = {
    "months": ("months",),
    "material": ("material",),
    "cut": ("cut",),
    "section": ("section",),
    "length": ("length_cm_low", "length_cm_high"),
    "leaves": ("leaves_low", "leaves_high"),
    "hormone": ("hormone_substance", "hormone_form", "hormone_ppm_low", "hormone_ppm_high"),
    "weeks": ("weeks_low", "weeks_high"),
    "cover": ("cover",),
    "bottom_heat": ("bottom_heat_c_low", "bottom_heat_c_high"),
    "mix": ("mix",),
    "container": ("container",),
    "light": ("light",),
    "aftercare": ("aftercare",),
    "checks": ("checks",),
    "steps": ("steps",),
    "troubles": ("troubles",),
    "notes": ("notes",),
}
_LINES: Final = (
    "material", "hormone_substance", "hormone_form", "cover", "mix", "container", "light",
    "aftercare", "checks",
)  # fmt: skip
TYPE: Final = "cutting_type"


@dataclass(frozen=True, kw_only=True)
class CardValues:
    """What a card says; blank and None mean that it says nothing.

    `months` are those of the northern half. Weeks are weeks to root, lengths cm, heat °C, and
    strengths ppm; a lower strength of 0 means that none may do as well.
    """

    months: frozenset[int] = field(default_factory=frozenset)
    material: str = ""
    cut: Cut | None = None
    section: Section | None = None
    length_cm_low: float | None = None
    length_cm_high: float | None = None
    leaves_low: int | None = None
    leaves_high: int | None = None
    hormone_substance: str = ""
    hormone_form: str = ""
    hormone_ppm_low: int | None = None
    hormone_ppm_high: int | None = None
    weeks_low: float | None = None
    weeks_high: float | None = None
    cover: str = ""
    bottom_heat_c_low: float | None = None
    bottom_heat_c_high: float | None = None
    mix: str = ""
    container: str = ""
    light: str = ""
    aftercare: str = ""
    checks: str = ""
    steps: tuple[CardStep, ...] = ()
    troubles: tuple[CardTrouble, ...] = ()
    notes: str = ""

    @property
    def letters(self) -> int:
        """How many letters the card's texts have together."""
        texts = [self.notes, *(getattr(self, name) for name in _LINES)]
        texts += [text for step in self.steps for text in (step.step, step.reason)]
        texts += [text for each in self.troubles for text in (each.what, each.signs, each.do)]
        return sum(len(text) for text in texts)


@dataclass(frozen=True, kw_only=True)
class CardEntry:
    """A card as it is entered: what it is for, and what it says.

    A blank species is the genus. `plant` is a plant name in full where the card is for that one
    alone, "" otherwise.
    """

    genus: str
    cutting_type: CuttingType
    species: str = ""
    plant: str = ""
    values: CardValues


def accepted_values(values: CardValues) -> CardValues:
    """Return the values with their texts tidied.

    Raises:
        NotAccepted: a number is out of range or its span upside down, a strength has no
            substance, a step or something that goes wrong is half said, or there is more than
            fits on a page.
    """
    problems: list[Problem] = []
    tidied: dict[str, Any] = {name: _tidy(getattr(values, name)) for name in _LINES}
    tidied["steps"] = _read(problems, accepted_steps, values.steps)
    tidied["troubles"] = _read(problems, accepted_troubles, values.troubles)
    tidy = replace(values, notes=values.notes.strip(), **tidied)
    problems.extend(_problems(tidy))
    if problems:
        raise NotAccepted(tuple(problems))
    return tidy


def own_standings(
    after: CardValues, *, before: CardValues | None, standings: Mapping[str, str]
) -> dict[str, str]:
    """Return the standings once `after` holds: what was changed stands as this nursery's own."""
    kept = {TYPE: standings.get(TYPE, THIS_NURSERY)}
    for group in GROUPS:
        if not group_says(after, group=group):
            continue
        same = before is not None and _of(before, group) == _of(after, group)
        kept[group] = standings.get(group, THIS_NURSERY) if same else THIS_NURSERY
    return kept


def group_says(values: CardValues, *, group: str) -> bool:
    """Return whether a card says anything in this group."""
    return any(value not in ("", None, frozenset(), ()) for value in _of(values, group))


def _of(values: CardValues, group: str) -> tuple[Any, ...]:
    return tuple(getattr(values, name) for name in GROUPS[group])


def _read(problems: list[Problem], read: Callable[[Any], Any], lines: Any) -> Any:
    """Return the lines as they are accepted; where they are not, note why and return them."""
    try:
        return read(lines)
    except NotAccepted as refused:
        problems.extend(refused.problems)
        return lines


def _tidy(text: str) -> str:
    return " ".join(text.split())


def _problems(values: CardValues) -> Iterator[Problem]:
    spans = (
        ("length", values.length_cm_low, values.length_cm_high, MOST_LENGTH_CM, "cm"),
        ("leaves", values.leaves_low, values.leaves_high, MOST_LEAVES, "leaves"),
        ("hormone_ppm", values.hormone_ppm_low, values.hormone_ppm_high, HIGHEST_PPM, "ppm"),
        ("weeks", values.weeks_low, values.weeks_high, MOST_WEEKS, "weeks"),
        ("bottom_heat", values.bottom_heat_c_low, values.bottom_heat_c_high, WARMEST_C, "°C"),
    )
    for name, low, high, most, unit in spans:
        ends = [end for end in (low, high) if end is not None]
        if any(not 0 <= end <= most for end in ends):
            yield Problem(field=name, sentence=f"Give {unit} from 0 to {most:,}.")
        elif len(ends) > 1 and ends[0] > ends[1]:
            yield Problem(field=name, sentence="Give the lower number first, such as 4 to 6.")
    strength = values.hormone_ppm_low is not None or values.hormone_ppm_high is not None
    if (strength or values.hormone_form) and not values.hormone_substance:
        sentence = 'Name the substance too, such as "IBA", or "none" for no hormone.'
        yield Problem(field="hormone_substance", sentence=sentence)
    if values.letters > MOST_LETTERS:
        sentence = (
            f"The card has {values.letters:,} letters, and one page holds {MOST_LETTERS:,}: "
            "shorten what can be said in fewer words."
        )
        yield Problem(field="notes", sentence=sentence)
    if values.weeks_low == 0:
        yield Problem(field="weeks", sentence="Give weeks to root above 0.")
