"""Reading what guides somebody who sticks a batch: card, usual ways, cautions, deviations."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from sqlalchemy import Row, select
from sqlalchemy.orm import Session

from app.domain.advisories import Surroundings, deviations, usual_ways
from app.domain.batches import BatchEntry
from app.domain.card_advisories import CardSays
from app.domain.card_months import turned
from app.domain.cutting_types import CuttingType
from app.domain.genus_cautions import caution_words
from app.domain.method_card_words import CardLine, card_lines
from app.domain.nursery import Hemisphere
from app.domain.plant_names import PlantName
from app.domain.plant_rights import rights_words
from app.domain.source_plants import source_advisories
from app.domain.standings import Advisory
from app.store.models.containers import Container
from app.store.models.genera import Genus
from app.store.models.plant_names import PlantNameRow
from app.store.queries.method_cards import KnownCard, find_card, list_cards
from app.store.queries.source_plants import list_source_plants


@dataclass(frozen=True, kw_only=True)
class BatchGuide:
    """What is known for a plant and a cutting type before anything is stuck.

    `card` speaks for the type chosen, if there is one; `types` are those of all cards of the
    genus. `caution` is always a sentence, also where none is recorded. `rights` is "" for a name
    that is not protected. `usual` is said by field.
    """

    genus: str
    caution: str
    rights: str = ""
    card: KnownCard | None = None
    lines: tuple[CardLine, ...] = ()
    types: tuple[str, ...] = ()
    usual: Mapping[str, str] = field(default_factory=dict)


def get_batch_guide(
    session: Session,
    *,
    name: PlantName,
    cutting_type: CuttingType | None,
    hemisphere: Hemisphere,
    today: date,
) -> BatchGuide:
    """Return the guide for a plant name, also one that is not in the log yet."""
    card = None
    if cutting_type is not None:
        card = find_card(
            session,
            genus=name.genus,
            species=name.species,
            plant=name.plain,
            cutting_type=cutting_type,
        )
    cards = (each for each in list_cards(session, text=name.genus) if each.genus == name.genus)
    return BatchGuide(
        genus=name.genus,
        caution=_caution(session, genus=name.genus),
        rights=_rights(session, plain=name.plain, today=today),
        card=card,
        lines=_lines(card, hemisphere=hemisphere),
        types=tuple(dict.fromkeys(str(each.cutting_type) for each in cards if not each.retired)),
        usual=_by_field(
            usual_ways(
                cutting_type,
                genus=name.genus,
                card=_says(card),
            )
        ),
    )


def list_batch_advisories(
    session: Session,
    *,
    entry: BatchEntry,
    hemisphere: Hemisphere,
    today: date,
    batch_id: int | None = None,
) -> tuple[Advisory, ...]:
    """Return where a batch departs from what is usual, and what to mind about its sources.

    `batch_id` is that of a batch already in the log, whose own taking is not one before.
    """
    plant = _plant(session, entry.plant_name_id)
    card = None
    if entry.cutting_type is not None:
        card = find_card(
            session,
            genus=plant.genus,
            species=plant.species,
            plant=plant.plain,
            cutting_type=entry.cutting_type,
        )
    around = Surroundings(
        today=today,
        genus=plant.genus,
        container_kind=_container_kind(session, entry.container_id),
        card_months=turned(card.values.months, hemisphere=hemisphere) if card else frozenset(),
        card=_says(card),
    )
    plants = list_source_plants(session, entry=entry, but_batch_id=batch_id)
    rights = _rights(session, plain=plant.plain, today=today)
    protected = Advisory(field="plant", sentence=rights, standing="", urgent=True)
    return (
        *([protected] if rights else []),
        *deviations(entry, around=around),
        *source_advisories(plants, taken_on=entry.taken_on or entry.stuck_on),
    )


def _lines(card: KnownCard | None, *, hemisphere: Hemisphere) -> tuple[CardLine, ...]:
    if card is None:
        return ()
    return card_lines(
        card.values,
        cutting_type=card.cutting_type,
        standings=card.standings,
        hemisphere=hemisphere,
    )


def _says(card: KnownCard | None) -> CardSays:
    if card is None:
        return CardSays()
    return CardSays(values=card.values, standings=card.standings)


def _by_field(advisories: tuple[Advisory, ...]) -> dict[str, str]:
    said: dict[str, str] = {}
    for advisory in advisories:
        before = said.get(advisory.field, "")
        said[advisory.field] = f"{before} {advisory.words}".strip()
    return said


def _plant(session: Session, plant_name_id: int) -> Row[*tuple[Any, ...]]:
    query = (
        select(PlantNameRow.plain, PlantNameRow.species, Genus.name.label("genus"))
        .join(Genus, Genus.id == PlantNameRow.genus_id)
        .where(PlantNameRow.id == plant_name_id)
    )
    return session.execute(query).one()


def _container_kind(session: Session, container_id: int | None) -> str:
    if container_id is None:
        return ""
    return session.scalar(select(Container.kind).where(Container.id == container_id)) or ""


def _caution(session: Session, *, genus: str) -> str:
    row = session.execute(select(Genus.__table__).where(Genus.name == genus)).one_or_none()
    if row is None:
        return caution_words("")
    return caution_words(row.caution, applies_to=row.caution_applies_to, basis=row.caution_basis)


def _rights(session: Session, *, plain: str, today: date) -> str:
    row = session.execute(
        select(
            PlantNameRow.rights_grant, PlantNameRow.rights_licence, PlantNameRow.rights_until
        ).where(PlantNameRow.plain == plain)
    ).one_or_none()
    if row is None:
        return ""
    return rights_words(
        grant=row.rights_grant, licence=row.rights_licence, until=row.rights_until, on=today
    )
