"""Reading check plans, and the times to root on method cards that stand in for them."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Row, Select, and_, func, literal_column, select
from sqlalchemy.orm import Session

from app.domain.check_plans import BLANK_PLAN, CheckPlan, PlanLevel, Plans
from app.domain.problems import NotFound
from app.store.models.batches import Batch, BatchFacts
from app.store.models.check_plans import CheckPlanRow
from app.store.models.genera import Genus
from app.store.models.method_cards import MethodCard, MethodCardVersion
from app.store.models.plant_names import PlantNameRow


@dataclass(frozen=True, kw_only=True)
class CardTime:
    """Weeks from sticking to roots as a method card gives them, and who says so ("" if nobody)."""

    weeks_low: float
    weeks_high: float | None
    source: str


@dataclass(frozen=True, kw_only=True)
class PlanBook:
    """Every plan and every card's time to root at once, for working on many batches.

    Plans of genera are kept by (genus id, cutting type), "" for any type; cards by (genus id,
    species, cutting type), a blank species for the whole genus, and those for one plant name by
    (its id, cutting type).
    """

    nursery: CheckPlan
    genera: Mapping[tuple[int, str], CheckPlan]
    batches: Mapping[int, CheckPlan]
    cards: Mapping[tuple[int, str, str], CardTime]
    named_cards: Mapping[tuple[int, str], CardTime]

    def card_time(
        self, *, plant_name_id: int, genus_id: int, species: str, cutting_type: str
    ) -> CardTime | None:
        """Return the time of the plant name's own card, else the species', else the genus'."""
        named = self.named_cards.get((plant_name_id, cutting_type))
        own = named or self.cards.get((genus_id, species, cutting_type))
        return own or self.cards.get((genus_id, "", cutting_type))

    def plans(
        self, *, batch_id: int, plant_name_id: int, genus_id: int, species: str, cutting_type: str
    ) -> Plans:
        """Return every plan that might hold for a batch."""
        time = self.card_time(
            plant_name_id=plant_name_id,
            genus_id=genus_id,
            species=species,
            cutting_type=cutting_type,
        )
        typed = self.genera.get((genus_id, cutting_type)) if cutting_type else None
        return Plans(
            batch=self.batches.get(batch_id, BLANK_PLAN),
            genus_and_type=typed or BLANK_PLAN,
            genus=self.genera.get((genus_id, ""), BLANK_PLAN),
            nursery=self.nursery,
            weeks_low=time.weeks_low if time else None,
        )


@dataclass(frozen=True, kw_only=True)
class StoredPlan:
    """A plan as it stands, with what it is for; `version` is 0 where nothing was ever set."""

    plan: CheckPlan
    level: PlanLevel
    genus_id: int | None = None
    genus: str = ""
    cutting_type: str = ""
    batch_id: int | None = None
    version: int = 0


def read_plan_book(session: Session, *, batch_ids: Collection[int] | None = None) -> PlanBook:
    """Return the plans and all cards' times to root.

    Of the plans of batches only those of `batch_ids`; of all batches if None.
    """
    wide = session.execute(
        select(CheckPlanRow.__table__).where(CheckPlanRow.batch_id.is_(None))
    ).all()
    rows = _card_rows(session)
    nursery = [_plan(row) for row in wide if row.level == PlanLevel.NURSERY]
    return PlanBook(
        nursery=nursery[0] if nursery else BLANK_PLAN,
        genera={
            (row.genus_id, row.cutting_type): _plan(row)
            for row in wide
            if row.level == PlanLevel.GENUS
        },
        batches=_batch_plans(session, batch_ids=batch_ids),
        cards={
            (row.genus_id, row.species, row.cutting_type): _card_time(row)
            for row in rows
            if row.plant_name_id is None
        },
        named_cards={
            (row.plant_name_id, row.cutting_type): _card_time(row)
            for row in rows
            if row.plant_name_id is not None
        },
    )


def find_plan(
    session: Session,
    *,
    level: PlanLevel,
    genus_id: int | None = None,
    cutting_type: str = "",
    batch_id: int | None = None,
) -> StoredPlan:
    """Return the plan set for the nursery, a genus (and type) or a batch; a blank one if none."""
    query = _plans().where(
        CheckPlanRow.level == level,
        CheckPlanRow.genus_id.is_(None) if genus_id is None else CheckPlanRow.genus_id == genus_id,
        CheckPlanRow.batch_id.is_(None) if batch_id is None else CheckPlanRow.batch_id == batch_id,
        CheckPlanRow.cutting_type == cutting_type,
    )
    row = session.execute(query).one_or_none()
    if row is not None:
        return _stored(row)
    return StoredPlan(
        plan=BLANK_PLAN,
        level=level,
        genus_id=genus_id,
        cutting_type=cutting_type,
        batch_id=batch_id,
    )


def list_genus_plans(session: Session) -> tuple[StoredPlan, ...]:
    """Return the plans set for genera, by genus and type; those left blank again are not listed."""
    query = (
        _plans()
        .where(CheckPlanRow.level == PlanLevel.GENUS)
        .order_by(Genus.name, CheckPlanRow.cutting_type)
    )
    stored = (_stored(row) for row in session.execute(query))
    return tuple(plan for plan in stored if not plan.plan.is_blank)


def list_batch_plans(session: Session) -> tuple[tuple[str, StoredPlan], ...]:
    """Return (code, plan) of every open batch that has a plan of its own, by code."""
    query = (
        _plans()
        .add_columns(Batch.code)
        .join(Batch, Batch.id == CheckPlanRow.batch_id)
        .join(BatchFacts, BatchFacts.batch_id == Batch.id)
        .where(literal_column("batch_facts.open") == literal_column("1"))
        .order_by(Batch.year, Batch.number)
    )
    stored = ((row.code, _stored(row)) for row in session.execute(query))
    return tuple((code, plan) for code, plan in stored if not plan.plan.is_blank)


def list_card_times(session: Session, *, genus_id: int) -> tuple[tuple[str, str, CardTime], ...]:
    """Return (species or plant name, cutting type, time) of every card of a genus with a time."""
    rows = _card_rows(session, genus_id=genus_id)
    return tuple((row.plain or row.species, row.cutting_type, _card_time(row)) for row in rows)


def find_genus_id(session: Session, *, name: str) -> int | None:
    """Return the id of the genus of this name, however its letters are written; None if unknown."""
    return session.scalar(select(Genus.id).where(func.lower(Genus.name) == name.lower()))


def get_genus_name(session: Session, *, genus_id: int) -> str:
    """Return the name of a genus.

    Raises:
        NotFound: there is none with this id.
    """
    name = session.scalar(select(Genus.name).where(Genus.id == genus_id))
    if name is None:
        raise NotFound("This genus is not known here yet.")
    return name


def _plans() -> Select[*tuple[Any, ...]]:
    return select(CheckPlanRow.__table__, Genus.name.label("genus")).outerjoin_from(
        CheckPlanRow, Genus, Genus.id == CheckPlanRow.genus_id
    )


def _plan(row: Row[tuple[object, ...]]) -> CheckPlan:
    return CheckPlan(
        look_every_days=row.look_every_days,
        first_count_day=row.first_count_day,
        count_every_days=row.count_every_days,
        looks_only=row.looks_only,
        learned=row.learned,
    )


def _stored(row: Row[tuple[object, ...]]) -> StoredPlan:
    return StoredPlan(
        plan=_plan(row),
        level=PlanLevel(row.level),
        genus_id=row.genus_id,
        genus=row.genus or "",
        cutting_type=row.cutting_type,
        batch_id=row.batch_id,
        version=row.version,
    )


def _batch_plans(session: Session, *, batch_ids: Collection[int] | None) -> dict[int, CheckPlan]:
    if batch_ids is not None and not batch_ids:
        return {}
    query = select(CheckPlanRow.__table__).where(CheckPlanRow.batch_id.is_not(None))
    if batch_ids is not None:
        query = query.where(CheckPlanRow.batch_id.in_(batch_ids))
    return {row.batch_id: _plan(row) for row in session.execute(query)}


def _card_rows(session: Session, *, genus_id: int | None = None) -> Sequence[Row[*tuple[Any, ...]]]:
    query = (
        select(
            MethodCard.genus_id,
            MethodCard.species,
            MethodCard.plant_name_id,
            PlantNameRow.plain,
            MethodCard.cutting_type,
            MethodCardVersion.weeks_low,
            MethodCardVersion.weeks_high,
            MethodCardVersion.standings,
        )
        .join(
            MethodCardVersion,
            and_(
                MethodCardVersion.method_card_id == MethodCard.id,
                MethodCardVersion.number == MethodCard.current,
            ),
        )
        .outerjoin(PlantNameRow, PlantNameRow.id == MethodCard.plant_name_id)
        .where(MethodCard.retired_at.is_(None), MethodCardVersion.weeks_low.is_not(None))
        .order_by(
            MethodCard.genus_id,
            MethodCard.species,
            func.coalesce(PlantNameRow.plain, ""),
            MethodCard.cutting_type,
        )
    )
    if genus_id is not None:
        query = query.where(MethodCard.genus_id == genus_id)
    return session.execute(query).all()


def _card_time(row: Row[*tuple[Any, ...]]) -> CardTime:
    return CardTime(
        weeks_low=row.weeks_low,
        weeks_high=row.weeks_high,
        source=str((row.standings or {}).get("weeks", "")),
    )
