"""Reading method cards, and the one card that speaks for a genus, species and type."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from sqlalchemy import Row, Select, and_, func, or_, select
from sqlalchemy.orm import Session

from app.domain.card_months import parse_months
from app.domain.card_steps import CardStep, CardTrouble
from app.domain.cutting_types import Cut, CuttingType, Section
from app.domain.method_card_starts import StartingValues, starting_values
from app.domain.method_cards import CardValues
from app.domain.problems import NotFound
from app.store.models.genera import Genus
from app.store.models.method_cards import MethodCard, MethodCardVersion
from app.store.models.people import Person
from app.store.models.plant_names import PlantNameRow

_AS_STORED: Final = tuple(
    name
    for name in CardValues.__dataclass_fields__
    if name not in {"months", "cut", "section", "steps", "troubles"}
)


@dataclass(frozen=True, kw_only=True)
class KnownCard:
    """A card in one of its versions (the newest unless asked for another).

    `number` is that of the version on the card, `version` the one to save on top of. `standings`
    says for each group of values where it comes from. `made_by` is "" for a starting value.
    `plant_name` is in full where the card is for that one alone, else "".
    A blank `caution` means that none is recorded for the genus, never that it is safe.
    """

    id: int
    genus_id: int
    genus: str
    species: str
    plant_name: str
    plant_name_id: int | None
    cutting_type: CuttingType
    version: int
    retired: bool
    version_id: int
    number: int
    made_at: datetime
    made_by: str
    values: CardValues
    standings: Mapping[str, str]
    caution: str
    caution_basis: str
    caution_applies_to: str

    @property
    def plant(self) -> str:
        """Genus, and species or the whole plant name if the card is for one only."""
        return self.plant_name or f"{self.genus} {self.species}".strip()

    @property
    def starting_values(self) -> StartingValues:
        """What a new batch by this card begins with."""
        return starting_values(self.values, standings=self.standings)


def list_cards(session: Session, *, text: str = "") -> tuple[KnownCard, ...]:
    """Return the cards by genus, species and type, or those whose plant or type holds the text."""
    query = _cards().order_by(
        Genus.name,
        MethodCard.species,
        func.coalesce(PlantNameRow.plain, ""),
        MethodCard.cutting_type,
    )
    for word in text.lower().split():
        like = f"%{word.replace('%', '').replace('_', '')}%"
        query = query.where(
            or_(
                func.lower(Genus.name).like(like),
                func.lower(MethodCard.species).like(like),
                func.lower(PlantNameRow.plain).like(like),
                MethodCard.cutting_type.like(like),
            )
        )
    return tuple(_known(row) for row in session.execute(query))


def get_card(session: Session, *, card_id: int) -> KnownCard:
    """Return one card as it holds now.

    Raises:
        NotFound: there is none with this id.
    """
    row = session.execute(_cards().where(MethodCard.id == card_id)).one_or_none()
    if row is None:
        raise NotFound("There is no such method card.")
    return _known(row)


def list_card_versions(session: Session, *, card_id: int) -> tuple[KnownCard, ...]:
    """Return every version of a card, the newest first."""
    query = _versions().where(MethodCard.id == card_id).order_by(MethodCardVersion.number.desc())
    return tuple(_known(row) for row in session.execute(query))


def find_card(
    session: Session, *, genus: str, species: str, cutting_type: CuttingType, plant: str = ""
) -> KnownCard | None:
    """Return the card in use for this type: of the plant name, of the species, of the genus.

    `plant` is the plant name in full. A card for one species or plant name never speaks for
    another one, nor for a name without a species.
    """
    query = _cards().where(
        Genus.name == genus,
        or_(
            PlantNameRow.plain == plant,
            and_(MethodCard.plant_name_id.is_(None), MethodCard.species.in_({species, ""})),
        ),
        MethodCard.cutting_type == cutting_type.value,
        MethodCard.retired_at.is_(None),
    )
    narrow_first = (MethodCard.plant_name_id.is_(None), MethodCard.species.desc())
    row = session.execute(query.order_by(*narrow_first).limit(1)).one_or_none()
    return None if row is None else _known(row)


def find_card_of_version(session: Session, *, version_id: int) -> KnownCard | None:
    """Return a card as the version of this id says it, None where there is none."""
    row = session.execute(_versions().where(MethodCardVersion.id == version_id)).one_or_none()
    return None if row is None else _known(row)


def values_of(row: MethodCardVersion | Row[*tuple[Any, ...]]) -> CardValues:
    """Return what a stored version says."""
    return CardValues(
        months=parse_months(row.months),
        cut=Cut(row.cut) if row.cut else None,
        section=Section(row.section) if row.section else None,
        steps=tuple(CardStep(step=step, reason=reason) for step, reason in row.steps),
        troubles=tuple(
            CardTrouble(what=what, signs=signs, do=do) for what, signs, do in row.troubles
        ),
        **{name: getattr(row, name) for name in _AS_STORED},
    )


def _cards() -> Select[*tuple[Any, ...]]:
    return _versions().where(MethodCardVersion.number == MethodCard.current)


def _versions() -> Select[*tuple[Any, ...]]:
    stored = MethodCardVersion.__table__.c
    return (
        select(
            MethodCard.id.label("card_id"),
            MethodCard.species,
            MethodCard.plant_name_id,
            MethodCard.cutting_type,
            MethodCard.version,
            MethodCard.retired_at,
            Genus.id.label("genus_id"),
            Genus.name.label("genus"),
            Genus.caution,
            Genus.caution_basis,
            Genus.caution_applies_to,
            PlantNameRow.plain.label("plant_name"),
            Person.name.label("made_by"),
            *stored,
        )
        .join_from(MethodCard, Genus, Genus.id == MethodCard.genus_id)
        .join(MethodCardVersion, and_(MethodCardVersion.method_card_id == MethodCard.id))
        .outerjoin(PlantNameRow, PlantNameRow.id == MethodCard.plant_name_id)
        .outerjoin(Person, Person.id == MethodCardVersion.made_by_id)
    )


def _known(row: Row[*tuple[Any, ...]]) -> KnownCard:
    return KnownCard(
        id=row.card_id,
        genus_id=row.genus_id,
        genus=row.genus,
        species=row.species,
        plant_name=row.plant_name or "",
        plant_name_id=row.plant_name_id,
        cutting_type=CuttingType(row.cutting_type),
        version=row.version,
        retired=row.retired_at is not None,
        version_id=row.id,
        number=row.number,
        made_at=row.made_at,
        made_by=row.made_by or "",
        values=values_of(row),
        standings=row.standings,
        caution=row.caution,
        caution_basis=row.caution_basis,
        caution_applies_to=row.caution_applies_to,
    )
