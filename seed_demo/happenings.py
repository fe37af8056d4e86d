"""What the head changes as time goes by: plans, a recipe, the state of stock plants."""

from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import Final

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.check_plans import CheckPlan, PlanLevel
from app.domain.cutting_types import CuttingType
from app.domain.sign_offs import SignOffEntry
from app.domain.stock_plants import StockPlantState
from app.services.check_plans import PlanPlace, set_plan
from app.services.mixes import change_mix
from app.services.sign_offs import sign_off
from app.services.stock_plants import correct_stock_plant, discard_stock_plant
from app.store.models.genera import Genus
from app.store.models.mixes import Mix
from seed_demo.calendar import SICK_PLANT
from seed_demo.care import STOCK_PLANT_CARE, Telling
from seed_demo.desk import Desk, instant
from seed_demo.places import BENCHES, CHANGED_MIX, HEAD, TRAINEE
from seed_demo.plants import read_habits

_LAVENDER: Final = "Lavandula angustifolia 'Hidcote'"


@dataclass(frozen=True, kw_only=True)
class Happening:
    """Something that is done on a day, or on the first working day after it."""

    on: date
    tell: Telling


def happenings(today: date) -> tuple[Happening, ...]:
    """Return what the head changes in the two years before today, by day."""
    days_before: tuple[tuple[int, Telling], ...] = (
        (729, _plan_hardwood),
        (640, _plan_lavender),
        (520, _plan_box),
        (280, _change_recipe),
        (150, _discard_old_lavender),
        (120, _hold_sick_plants),
        (90, _sign_off_softwood),
    )
    told = (*days_before, *STOCK_PLANT_CARE)
    return tuple(Happening(on=today - timedelta(days=days), tell=tell) for days, tell in told)


def _plan_hardwood(session: Session, desk: Desk, now: datetime) -> None:
    days = {bench.name: bench.every_days for bench in BENCHES}
    hardwood = [one for one in read_habits() if one.cutting_type is CuttingType.HARDWOOD]
    for genus, bench in {one.name.split()[0]: one.bench for one in hardwood}.items():
        plan = CheckPlan(look_every_days=days[bench])
        _set_plan(session, desk, now, genus=genus, cutting_type=CuttingType.HARDWOOD, plan=plan)


def _plan_lavender(session: Session, desk: Desk, now: datetime) -> None:
    plan = CheckPlan(first_count_day=28)
    _set_plan(session, desk, now, genus="Lavandula", cutting_type=CuttingType.SEMI_RIPE, plan=plan)


def _plan_box(session: Session, desk: Desk, now: datetime) -> None:
    plan = CheckPlan(first_count_day=63, count_every_days=21)
    _set_plan(session, desk, now, genus="Buxus", cutting_type=CuttingType.SEMI_RIPE, plan=plan)


def _set_plan(
    session: Session,
    desk: Desk,
    now: datetime,
    *,
    genus: str,
    cutting_type: CuttingType,
    plan: CheckPlan,
) -> None:
    genus_id = session.scalars(select(Genus.id).where(Genus.name == genus)).one()
    place = PlanPlace(level=PlanLevel.GENUS, genus_id=genus_id, cutting_type=cutting_type)
    set_plan(session, actor=desk.actors[HEAD.name], now=now, place=place, version=0, plan=plan)


def _change_recipe(session: Session, desk: Desk, now: datetime) -> None:
    row = session.execute(select(Mix.id, Mix.version).where(Mix.name == CHANGED_MIX.name)).one()
    change_mix(
        session,
        actor=desk.actors[HEAD.name],
        now=now,
        mix_id=row.id,
        version=row.version,
        entry=CHANGED_MIX,
    )
    desk.look_up(session)


def _discard_old_lavender(session: Session, desk: Desk, now: datetime) -> None:
    desk.out_of_use.add((_LAVENDER, 2))
    discard_stock_plant(
        session,
        actor=desk.actors[HEAD.name],
        today=now.date(),
        now=now,
        stock_plant_id=desk.known.stock_plants[_LAVENDER, 2],
        version=1,
        discarded_on=now.date(),
        reason="woody and bare at the base, replaced by row 1",
    )


def _hold_sick_plants(session: Session, desk: Desk, now: datetime) -> None:
    row = (SICK_PLANT, 1)
    desk.out_of_use.add(row)
    correct_stock_plant(
        session,
        actor=desk.actors[HEAD.name],
        today=now.date(),
        now=now,
        stock_plant_id=desk.known.stock_plants[row],
        version=1,
        entry=replace(
            desk.stock_entries[row],
            state=StockPlantState.ON_HOLD,
            state_reason="blackleg in batch after batch since the winter; row 1 is clean",
        ),
    )


def _sign_off_softwood(session: Session, desk: Desk, now: datetime) -> None:
    seen = SignOffEntry(
        technique=CuttingType.SOFTWOOD.value,
        signed_on=now.date(),
        note="forty clean nodal cuttings in the hour, base undamaged, none wilted",
    )
    sign_off(
        session,
        actor=desk.actors[HEAD.name],
        today=now.date(),
        now=now,
        key=desk.actors[TRAINEE.name].person_key,
        entry=seen,
    )


def tell_happenings(
    session: Session, desk: Desk, *, day: date, ahead: list[Happening]
) -> list[Happening]:
    """Tell what falls on this day or before it, and return what is still ahead."""
    for place, happening in enumerate(one for one in ahead if one.on <= day):
        happening.tell(session, desk, instant(day, 16, place))
    return [one for one in ahead if one.on > day]
