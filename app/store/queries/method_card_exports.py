"""Method cards as they leave in a sheet: what each says now, its months in this nursery's half."""

from collections.abc import Sequence
from typing import Final

from sqlalchemy import and_, select
from sqlalchemy.orm import Session

from app.domain.card_months import month_names, parse_months, turned
from app.store.models.genera import Genus
from app.store.models.method_cards import MethodCard, MethodCardVersion
from app.store.models.plant_names import PlantNameRow
from app.store.queries.exports import ExportTable, Texts
from app.store.queries.nursery import get_nursery

_NEWEST: Final = and_(
    MethodCardVersion.method_card_id == MethodCard.id,
    MethodCardVersion.number == MethodCard.current,
)


def _versions(session: Session, keys: Sequence[int]) -> Sequence[MethodCardVersion]:
    query = (
        select(MethodCardVersion)
        .join(MethodCard, _NEWEST)
        .where(MethodCardVersion.method_card_id.in_(keys))
    )
    return session.scalars(query).all()


def _months(session: Session, keys: Sequence[int]) -> Texts:
    """Return the months by their names: a spreadsheet would take "8-10" for a day."""
    hemisphere = get_nursery(session).hemisphere
    return {
        version.method_card_id: month_names(
            turned(parse_months(version.months), hemisphere=hemisphere)
        )
        for version in _versions(session, keys)
    }


def _steps(session: Session, keys: Sequence[int]) -> Texts:
    return {version.method_card_id: _told(version.steps) for version in _versions(session, keys)}


def _troubles(session: Session, keys: Sequence[int]) -> Texts:
    return {version.method_card_id: _told(version.troubles) for version in _versions(session, keys)}


def _standings(session: Session, keys: Sequence[int]) -> Texts:
    return {
        version.method_card_id: "; ".join(
            f"{group}: {standing}" for group, standing in version.standings.items()
        )
        for version in _versions(session, keys)
    }


def _told(lines: Sequence[Sequence[str]]) -> str:
    return "\n".join(" | ".join(filter(None, line)) for line in lines)


PLAIN: Final = (
    "material", "cut", "section", "length_cm_low", "length_cm_high", "leaves_low", "leaves_high",
    "hormone_substance", "hormone_form", "hormone_ppm_low", "hormone_ppm_high", "weeks_low",
    "weeks_high", "cover", "bottom_heat_c_low", "bottom_heat_c_high", "mix", "container", "light",
    "aftercare", "checks",
)  # fmt: skip
"""The columns of what a card says that are stored as they leave."""

METHOD_CARDS: Final = ExportTable(
    key=MethodCard.id,
    columns={
        "card": MethodCard.id,
        "genus": Genus.name,
        "species": MethodCard.species,
        "plant": PlantNameRow.plain,
        "cutting_type": MethodCard.cutting_type,
        **{name: getattr(MethodCardVersion, name) for name in PLAIN},
        "note": MethodCardVersion.notes,
        "retired": MethodCard.retired_at.is_not(None),
        "edition": MethodCard.current,
    },
    source=lambda query: (
        query.select_from(MethodCard)
        .join(Genus, Genus.id == MethodCard.genus_id)
        .join(MethodCardVersion, _NEWEST)
        .outerjoin(PlantNameRow, PlantNameRow.id == MethodCard.plant_name_id)
    ),
    lists={"months": _months, "steps": _steps, "troubles": _troubles, "standings": _standings},
)
