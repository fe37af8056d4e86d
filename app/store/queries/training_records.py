"""Reading what one person practised: cutting types with their steps, checks, and sign-offs."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import and_, case, func, or_, select
from sqlalchemy.orm import Session, aliased

from app.domain.problems import NotFound
from app.store.models.batches import Batch, BatchFacts
from app.store.models.checks import Check, CheckVersion
from app.store.models.genera import Genus
from app.store.models.people import Person
from app.store.models.sign_offs import SignOff


@dataclass(frozen=True, kw_only=True)
class PractisedType:
    """One cutting type ("" for not recorded): in how many batches the person had which hand.

    `cuttings` counts those of the batches they stuck. `genera` are by alphabet.
    """

    cutting_type: str
    gathered: int
    made: int
    stuck: int
    cuttings: int
    genera: tuple[str, ...]
    first_on: date
    last_on: date


@dataclass(frozen=True, kw_only=True)
class PractisedChecks:
    """How often the person looked at a batch, by kind, and at how many batches."""

    counted: int
    sampled: int
    looked: int
    batches: int
    first_on: date | None
    last_on: date | None

    @property
    def every(self) -> int:
        """All checks together."""
        return self.counted + self.sampled + self.looked


@dataclass(frozen=True, kw_only=True)
class KnownSignOff:
    """A sign-off as it stands; `withdrawn_at` is None while it holds."""

    id: int
    technique: str
    genus: str
    signed_on: date
    signed_by: str
    note: str
    withdrawn_at: datetime | None
    withdrawn_by: str
    withdrawn_reason: str

    @property
    def words(self) -> str:
        """What is signed off, such as "softwood, Hebe"."""
        return f"{self.technique}, {self.genus}" if self.genus else self.technique


@dataclass(frozen=True, kw_only=True)
class TrainingRecord:
    """Everything one person practised, void batches and withdrawn checks left out."""

    types: tuple[PractisedType, ...]
    checks: PractisedChecks
    sign_offs: tuple[KnownSignOff, ...]


def get_training_record(session: Session, *, person_id: int) -> TrainingRecord:
    """Return the record of a person; empty where nothing is written down for them."""
    return TrainingRecord(
        types=_types(session, person_id),
        checks=_checks(session, person_id),
        sign_offs=_sign_offs(session, person_id),
    )


def _types(session: Session, person_id: int) -> tuple[PractisedType, ...]:
    hands = (Batch.gathered_by_id, Batch.made_by_id, Batch.stuck_by_id)
    gathered, made, stuck = (func.sum(case((hand == person_id, 1), else_=0)) for hand in hands)
    own_cuttings = func.sum(case((Batch.stuck_by_id == person_id, BatchFacts.stuck), else_=0))
    day = func.coalesce(Batch.taken_on, Batch.stuck_on)
    query = (
        select(
            BatchFacts.cutting_type,
            Genus.name.label("genus"),
            gathered.label("gathered"),
            made.label("made"),
            stuck.label("stuck"),
            own_cuttings.label("cuttings"),
            func.min(day, type_=Batch.stuck_on.type).label("first_on"),
            func.max(Batch.stuck_on).label("last_on"),
        )
        .join(BatchFacts, BatchFacts.batch_id == Batch.id)
        .join(Genus, Genus.id == BatchFacts.genus_id)
        .where(or_(*(hand == person_id for hand in hands)), Batch.voided_at.is_(None))
        .group_by(BatchFacts.cutting_type, Genus.name)
        .order_by(BatchFacts.cutting_type, Genus.name)
    )
    by_type: dict[str, list[PractisedType]] = {}
    for row in session.execute(query):
        values = dict(row._mapping)
        genus = values.pop("genus")
        by_type.setdefault(row.cutting_type, []).append(PractisedType(**values, genera=(genus,)))
    return tuple(_together(lines) for lines in by_type.values())


def _together(lines: list[PractisedType]) -> PractisedType:
    return PractisedType(
        cutting_type=lines[0].cutting_type,
        gathered=sum(line.gathered for line in lines),
        made=sum(line.made for line in lines),
        stuck=sum(line.stuck for line in lines),
        cuttings=sum(line.cuttings for line in lines),
        genera=tuple(genus for line in lines for genus in line.genera),
        first_on=min(line.first_on for line in lines),
        last_on=max(line.last_on for line in lines),
    )


def _checks(session: Session, person_id: int) -> PractisedChecks:
    newest = (
        select(CheckVersion.check_id, func.max(CheckVersion.number).label("number"))
        .group_by(CheckVersion.check_id)
        .subquery("newest")
    )
    kinds = ("counted", "sample", "looked only")
    numbers = [func.sum(case((Check.kind == kind, 1), else_=0)) for kind in kinds]
    row = session.execute(
        select(
            *numbers,
            func.count(Check.batch_id.distinct()),
            func.min(Check.checked_on),
            func.max(Check.checked_on),
        )
        .join(
            CheckVersion,
            and_(CheckVersion.check_id == Check.id, CheckVersion.checked_by_id == person_id),
        )
        .join(
            newest,
            and_(
                newest.c.check_id == CheckVersion.check_id,
                newest.c.number == CheckVersion.number,
            ),
        )
        .join(Batch, Batch.id == Check.batch_id)
        .where(Check.withdrawn == 0, Batch.voided_at.is_(None))
    ).one()
    return PractisedChecks(
        counted=row[0] or 0,
        sampled=row[1] or 0,
        looked=row[2] or 0,
        batches=row[3],
        first_on=row[4],
        last_on=row[5],
    )


def get_sign_off(session: Session, *, sign_off_id: int) -> tuple[str, KnownSignOff]:
    """Return the key of the person and the sign-off.

    Raises:
        NotFound: there is none with this id, or its person is erased.
    """
    query = (
        select(Person.key, Person.id)
        .join(SignOff, SignOff.person_id == Person.id)
        .where(SignOff.id == sign_off_id, Person.erased_at.is_(None))
    )
    row = session.execute(query).one_or_none()
    if row is None:
        raise NotFound("There is no such sign-off.")
    found = {each.id: each for each in _sign_offs(session, row.id)}
    return row.key, found[sign_off_id]


def _sign_offs(session: Session, person_id: int) -> tuple[KnownSignOff, ...]:
    signer, withdrawer = aliased(Person), aliased(Person)
    query = (
        select(
            SignOff.id,
            SignOff.technique,
            SignOff.genus,
            SignOff.signed_on,
            signer.name.label("signed_by"),
            SignOff.note,
            SignOff.withdrawn_at,
            func.coalesce(withdrawer.name, "").label("withdrawn_by"),
            SignOff.withdrawn_reason,
        )
        .join(signer, signer.id == SignOff.signed_by_id)
        .outerjoin(withdrawer, withdrawer.id == SignOff.withdrawn_by_id)
        .where(SignOff.person_id == person_id)
        .order_by(SignOff.signed_on, SignOff.id)
    )
    return tuple(KnownSignOff(**row._mapping) for row in session.execute(query))
