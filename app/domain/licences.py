"""What was raised under the licence of a protected variety in a year, for the royalty statement."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Final

from app.domain.plant_name_entries import rights_in_force

COLUMNS: Final = (
    "plant", "grant", "licence", "until", "year", "stuck", "rooted",
)  # fmt: skip
AGREEMENT: Final = (
    "What a licence counts (cuttings stuck, plants rooted, plants sold) and who may propagate, "
    "the licence itself and the holder of the right say. These figures are what this log holds."
)


@dataclass(frozen=True, kw_only=True)
class ProtectedPlant:
    """A plant name with rights on it."""

    id: int
    plant: str
    grant: str
    licence: str
    until: date | None

    def without_licence(self, on: date) -> bool:
        """Whether it is protected on a day and no licence to propagate it is recorded."""
        protected = rights_in_force(self.until, grant=self.grant, licence=self.licence, on=on)
        return protected and not self.licence


@dataclass(frozen=True, kw_only=True)
class RaisedInYear:
    """Cuttings stuck in a calendar year, and those found rooted in its checks."""

    year: int
    stuck: int = 0
    rooted: int = 0


@dataclass(frozen=True, kw_only=True)
class LicenceCount:
    """A protected plant with what was raised of it, the newest year first."""

    plant: ProtectedPlant
    years: tuple[RaisedInYear, ...]


def licence_counts(
    plants: Iterable[ProtectedPlant],
    *,
    stuck: Mapping[tuple[int, int], int],
    rooted: Mapping[tuple[int, int], int],
) -> tuple[LicenceCount, ...]:
    """Return the counts by plant; `stuck` and `rooted` are numbers by (plant's id, year)."""
    years: dict[int, set[int]] = defaultdict(set)
    for plant_id, year in (*stuck, *rooted):
        years[plant_id].add(year)
    return tuple(
        LicenceCount(
            plant=plant,
            years=tuple(
                RaisedInYear(
                    year=year,
                    stuck=stuck.get((plant.id, year), 0),
                    rooted=rooted.get((plant.id, year), 0),
                )
                for year in sorted(years[plant.id], reverse=True)
            ),
        )
        for plant in plants
    )


def licence_rows(counts: Iterable[LicenceCount]) -> Iterable[tuple[str | int, ...]]:
    """Yield the lines of a sheet under COLUMNS: a plant and year each."""
    for count in counts:
        plant = count.plant
        until = plant.until.isoformat() if plant.until else ""
        for one in count.years:
            yield (
                plant.plant, plant.grant, plant.licence, until, one.year, one.stuck, one.rooted,
            )  # fmt: skip
