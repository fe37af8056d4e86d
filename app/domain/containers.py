"""Containers: what cuttings stand in, and what is right to say about one."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from app.domain.problems import NotAccepted, Problem

LARGEST_ML: Final = 1_000_000
MOST_PLUGS: Final = 2_000


class ContainerKind(StrEnum):
    """A tray (with plugs or open), a pot, or open ground and frames where rows are lined out."""

    TRAY = "tray"
    POT = "pot"
    LINED_OUT = "lined out"


@dataclass(frozen=True, kw_only=True)
class ContainerEntry:
    """A container as it is entered: `plugs` per tray, `volume_ml` of one plug or pot."""

    name: str
    kind: ContainerKind
    plugs: int | None = None
    volume_ml: float | None = None


def accepted_container(entry: ContainerEntry) -> ContainerEntry:
    """Return the entry with its name tidied.

    Raises:
        NotAccepted: no name, plugs where there can be none, or a measure out of range.
    """
    name = " ".join(entry.name.split())
    problems = []
    if not name:
        problems.append(Problem(field="name", sentence='Give it a name, such as "84-plug tray".'))
    if entry.plugs is not None and not 1 <= entry.plugs <= MOST_PLUGS:
        sentence = f"Plugs per tray go from 1 to {MOST_PLUGS:,}."
        problems.append(Problem(field="plugs", sentence=sentence))
    if entry.plugs is not None and entry.kind is not ContainerKind.TRAY:
        sentence = "Only a tray has plugs: leave this blank or choose tray."
        problems.append(Problem(field="plugs", sentence=sentence))
    if entry.volume_ml is not None and not 0 < entry.volume_ml <= LARGEST_ML:
        sentence = f"Give the volume in millilitres, above 0 and up to {LARGEST_ML:,}."
        problems.append(Problem(field="volume_ml", sentence=sentence))
    if problems:
        raise NotAccepted(tuple(problems))
    return ContainerEntry(name=name, kind=entry.kind, plugs=entry.plugs, volume_ml=entry.volume_ml)
