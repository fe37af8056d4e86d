"""The invented nursery: its name, its people, its benches, containers and mixes."""

from dataclasses import dataclass
from typing import Final

from app.domain.mixes import MixEntry, MixPart
from app.domain.nursery import Hemisphere, NurseryEntry
from app.domain.people import Role

NURSERY: Final = NurseryEntry(
    name="Quernstead Nursery (invented)",
    zone="Europe/London",
    hemisphere=Hemisphere.NORTH,
    medium_word="medium",
)


@dataclass(frozen=True, kw_only=True)
class DemoPerson:
    """Somebody of the story. `skill` shifts the log-odds of their cuttings' rooting.

    `from_day` is the day of the story they begin on. Without a role they do not sign in.
    """

    name: str
    role: Role | None = None
    password: str = ""
    skill: float = 0.0
    from_day: int = 0


HEAD: Final = DemoPerson(
    name="Marit Oakshott", role=Role.HEAD, password="seven mist nozzles", skill=0.15
)
TRAINEE: Final = DemoPerson(
    name="Jory Penhallick", role=Role.TRAINEE, password="two trays of thyme", skill=-0.1
)
SECOND_TRAINEE: Final = DemoPerson(
    name="Selma Brandvik",
    role=Role.TRAINEE,
    password="a heel of rosemary",
    skill=-0.35,
    from_day=395,
)
MANAGER: Final = DemoPerson(name="Rowan Tillersby", role=Role.MANAGER, password="orders by friday")
SEASONAL: Final = DemoPerson(name="Wanda Kettlewick", skill=0.05)
PEOPLE: Final = (HEAD, TRAINEE, SECOND_TRAINEE, MANAGER, SEASONAL)
SHOWN: Final = (HEAD, TRAINEE, MANAGER)
"""One person for each role, whose names and passwords the demo prints."""


@dataclass(frozen=True, kw_only=True)
class DemoBench:
    """A bench, bed or frame; walked every so many days, on the weekday `walked_on` (Monday 0)."""

    name: str
    trays: int
    walked_on: int
    cover: str
    heat_c: float | None
    every_days: int = 7


BENCHES: Final = (
    DemoBench(name="Mist bench 1", trays=60, walked_on=0, cover="mist", heat_c=20.0),
    DemoBench(name="Mist bench 2", trays=60, walked_on=0, cover="mist", heat_c=20.0),
    DemoBench(name="Fog house, left", trays=80, walked_on=1, cover="fog", heat_c=21.0),
    DemoBench(name="Fog house, right", trays=80, walked_on=1, cover="fog", heat_c=21.0),
    DemoBench(name="Polythene tunnels", trays=90, walked_on=2, cover="polythene", heat_c=18.0),
    DemoBench(name="Bedding bench", trays=120, walked_on=3, cover="fleece", heat_c=20.0),
    DemoBench(name="Open bench", trays=40, walked_on=3, cover="none", heat_c=18.0),
    DemoBench(name="Cold frames", trays=70, walked_on=4, cover="glass", heat_c=None, every_days=14),
    DemoBench(
        name="Standing-out bed", trays=30, walked_on=4, cover="none", heat_c=None, every_days=28
    ),
)


def _mix(name: str, notes: str = "", /, **parts: float) -> MixEntry:
    named = tuple(
        MixPart(ingredient=word.replace("_", " "), parts=number) for word, number in parts.items()
    )
    return MixEntry(name=name, parts=named, notes=notes)


MIXES: Final = (
    _mix("Bark mix", "For what stands long", fine_bark=2, perlite=1, compost=1),
    _mix("Plug mix", "For bedding", compost=3, perlite=1),
    _mix("Sharp mix", "For grey leaves and anything that rots", grit=1, perlite=2, compost=1),
    _mix("Field soil", "Where hardwood is lined out", soil=1),
)
CHANGED_MIX: Final = _mix(
    "Sharp mix", "More air since the wet spring", grit=1, perlite=3, compost=1
)
SUPPLIERS: Final = ("Hollinvale Young Plants (invented)", "Brackwater Cuttings (invented)")
