"""Reading plant passports: what they have in common, one as issued, and lists of them."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import Row, Select, select
from sqlalchemy.orm import Session, aliased

from app.domain.codes import parse_passport_code, passport_code
from app.domain.plant_passports import PassportContent, PassportSettings, Territory
from app.domain.problems import NotFound
from app.store.models.batches import Batch
from app.store.models.people import Person
from app.store.models.plant_passports import PassportSettingsRow, PlantPassport


@dataclass(frozen=True, kw_only=True)
class KnownPassport:
    """A passport as it was issued, and whether it was voided; `replaces` is a code or ""."""

    id: int
    number: int
    batch: str
    content: PassportContent
    blank_reason: str
    plants: int
    labels: int
    note: str
    issued_on: date
    issued_by: str
    replaces: str
    replaced_by: str
    voided_at: datetime | None
    voided_by: str
    void_reason: str

    @property
    def code(self) -> str:
        """Its code, such as P-0001."""
        return passport_code(self.number)


def get_passport_settings(session: Session) -> tuple[PassportSettings, int]:
    """Return what passports have in common and its version; off until something was entered."""
    row = session.execute(select(PassportSettingsRow.__table__)).one_or_none()
    if row is None:
        return PassportSettings(), 1
    settings = PassportSettings(
        territory=Territory(row.territory),
        operator_number=row.operator_number,
        member_state=row.member_state,
        own_title=row.own_title,
    )
    return settings, row.version


def get_passport(session: Session, *, code: str) -> KnownPassport:
    """Return the passport of this code.

    Raises:
        NotFound: there is none.
    """
    number = parse_passport_code(code)
    row = session.execute(_passports().where(PlantPassport.number == (number or 0))).one_or_none()
    if row is None:
        raise NotFound(f"There is no plant passport {code}. Its code is like P-0001.")
    return _passport(row)


def list_passports(
    session: Session, *, before: int | None = None, batch_id: int | None = None, limit: int = 50
) -> tuple[KnownPassport, ...]:
    """Return passports, the newest first; those below number `before`, or of one batch."""
    query = _passports().order_by(PlantPassport.number.desc()).limit(limit)
    if before is not None:
        query = query.where(PlantPassport.number < before)
    if batch_id is not None:
        query = query.where(PlantPassport.batch_id == batch_id)
    return tuple(_passport(row) for row in session.execute(query))


def _passports() -> Select[*tuple[Any, ...]]:
    issuer, voider = aliased(Person), aliased(Person)
    old, new = aliased(PlantPassport), aliased(PlantPassport)
    return (
        select(
            PlantPassport.__table__,
            Batch.code.label("batch"),
            issuer.name.label("issued_by"),
            voider.name.label("voided_by"),
            old.number.label("old_number"),
            new.number.label("new_number"),
        )
        .join(Batch, Batch.id == PlantPassport.batch_id)
        .outerjoin(issuer, issuer.id == PlantPassport.issued_by_id)
        .outerjoin(voider, voider.id == PlantPassport.voided_by_id)
        .outerjoin(old, old.id == PlantPassport.replaces_id)
        .outerjoin(new, new.replaces_id == PlantPassport.id)
    )


def _passport(row: Row[*tuple[Any, ...]]) -> KnownPassport:
    return KnownPassport(
        id=row.id,
        number=row.number,
        batch=row.batch,
        content=PassportContent(
            territory=Territory(row.territory),
            title=row.title,
            a=row.a,
            b=row.b,
            c=row.c,
            d=row.d,
            e=row.e,
        ),
        blank_reason=row.blank_reason,
        plants=row.plants,
        labels=row.labels,
        note=row.note,
        issued_on=row.issued_on,
        issued_by=row.issued_by or "",
        replaces=passport_code(row.old_number) if row.old_number else "",
        replaced_by=passport_code(row.new_number) if row.new_number else "",
        voided_at=row.voided_at,
        voided_by=row.voided_by or "",
        void_reason=row.void_reason,
    )
