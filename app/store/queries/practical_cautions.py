"""Reading the cautions of a practical session as they stand now, and who has read which text."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import Select, select
from sqlalchemy.orm import Session, aliased

from app.domain.practical_cautions import CautionText, caution_text
from app.domain.work_cautions import sticking_cautions
from app.store.models.people import Person
from app.store.models.practicals import PracticalReading, PracticalText
from app.store.queries.practicals import KnownPractical
from app.store.queries.preparing_sheets import list_plant_cautions


@dataclass(frozen=True, kw_only=True)
class KnownReading:
    """That somebody read the cautions: when, which text, and who noted it.

    `is_current` says that it is the text that stands now.
    """

    id: int
    person_id: int
    person: str
    read_on: date
    aloud: bool
    recorded_by: str
    text: str
    is_current: bool


def get_caution_text(session: Session, *, practical: KnownPractical) -> CautionText:
    """Return what is to be read before this session, as it stands now."""
    plants = [practical.plant] if practical.plant else []
    found = list_plant_cautions(session, plants=plants)
    return caution_text(
        genera=[(each.genus, each.words) for each in found],
        works=sticking_cautions(practical.entry.hormone),
        own=practical.entry.cautions,
    )


def list_readings(
    session: Session, *, practical: KnownPractical, now_reads: CautionText
) -> tuple[KnownReading, ...]:
    """Return who has read the cautions, by name, the newest of each person first."""
    recorded = aliased(Person)
    query = _readings(recorded).where(PracticalReading.practical_id == practical.id)
    return tuple(
        KnownReading(
            id=row.id,
            person_id=row.person_id,
            person=row.person,
            read_on=row.read_on,
            aloud=bool(row.aloud),
            recorded_by=row.recorded_by or "",
            text=row.text,
            is_current=row.fingerprint == now_reads.fingerprint,
        )
        for row in session.execute(query)
    )


def _readings(recorded: Any) -> Select[*tuple[Any, ...]]:
    return (
        select(
            PracticalReading.id,
            PracticalReading.person_id,
            PracticalReading.read_on,
            PracticalReading.aloud,
            Person.name.label("person"),
            recorded.name.label("recorded_by"),
            PracticalText.text,
            PracticalText.fingerprint,
        )
        .join(Person, Person.id == PracticalReading.person_id)
        .join(PracticalText, PracticalText.id == PracticalReading.text_id)
        .outerjoin(recorded, recorded.id == PracticalReading.recorded_by_id)
        .where(PracticalReading.withdrawn_at.is_(None))
        .order_by(Person.name_key, Person.id, PracticalReading.id.desc())
    )
