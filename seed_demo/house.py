"""What was done in the invented house: mix lots made up, treatments, cleaning, settings."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from random import Random
from typing import Final

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.mix_lots import LotIngredient, MixLotEntry
from app.domain.mixes import MixPart, ingredient_volumes
from app.domain.treatments import TreatmentEntry, TreatmentKind
from app.services.batches import correct_batch
from app.services.mix_lots import empty_mix_lot, make_mix_lot
from app.services.treatments import record_treatment, withdraw_treatment
from app.store.models.batches import Batch
from app.store.queries.batch_entries import get_batch_entry
from app.store.queries.mixes import KnownMix, list_mixes
from app.store.session import Database
from seed_demo.desk import Desk, instant
from seed_demo.places import BENCHES, HEAD, NURSERY, SECOND_TRAINEE, TRAINEE, DemoPerson

_TELLS_DAYS: Final = 150
_LOT_LITRES: Final = 400.0
_NAMED_BATCHES: Final = 4
# By how much the mixes of the story shrink, and how far one making-up is off: invented.
_SHRINKS: Final = 0.09
_SPREAD: Final = 0.015


@dataclass(frozen=True, kw_only=True)
class DemoWork:
    """A kind of work that comes back every so many days on benches whose name says `where`."""

    kind: TreatmentKind
    what: str
    every_days: int
    where: str
    by: DemoPerson
    rate: str = ""
    target: str = ""
    way: str = ""
    reentry_hours: int = 0


WORKS: Final = (
    DemoWork(
        kind=TreatmentKind.FEED, what="Liquid feed, low in nitrogen", rate="half of the label's",
        way="through the can", every_days=21, where="Bedding", by=TRAINEE,
    ),
    DemoWork(
        kind=TreatmentKind.BIOLOGICAL, what="Nematodes against sciarid larvae",
        rate="one pack to 40 square metres", target="sciarid fly", way="drenched",
        every_days=28, where="Fog", by=SECOND_TRAINEE,
    ),
    DemoWork(
        kind=TreatmentKind.PLANT_PROTECTION, what="Fungicide, as on its label",
        rate="as on the label: 2 g in 10 litres", target="grey mould", way="sprayed",
        every_days=45, where="Mist bench", by=HEAD, reentry_hours=24,
    ),
    DemoWork(
        kind=TreatmentKind.BENCH_CLEANING, what="Benches scrubbed, sand renewed", every_days=60,
        where="Mist bench", by=TRAINEE,
    ),
    DemoWork(
        kind=TreatmentKind.TOOL_DISINFECTION, what="Alcohol wipes", target="knives, secateurs",
        way="wiped between stock plants", every_days=14, where="Open", by=SECOND_TRAINEE,
    ),
    DemoWork(
        kind=TreatmentKind.MIST, what="Mist", rate="6 s every 15 min, off at night",
        every_days=50, where="Mist bench", by=HEAD,
    ),
    DemoWork(
        kind=TreatmentKind.HEAT, what="Heat of the bench", rate="20 °C", every_days=75,
        where="Fog", by=HEAD,
    ),
)  # fmt: skip


def tell_house(database: Database, desk: Desk) -> None:
    """Tell what was done in the house during the last months of the story."""
    dice = Random(f"{desk.seed}/house")
    with database.writing() as session:
        first = max(desk.first, desk.today - timedelta(days=_TELLS_DAYS))
        for day, work in sorted(_planned(first, desk.today, dice=dice), key=lambda one: one[0]):
            _do(session, desk, work, day=day, hour=dice.choice((8, 11, 16)))
        _do_lately(session, desk)
        for mix in list_mixes(session):
            if len(mix.newest.parts) > 1:
                _make_lots(session, desk, mix, dice=dice)


def _planned(first: date, today: date, *, dice: Random) -> Iterator[tuple[date, DemoWork]]:
    for work in WORKS:
        day = first + timedelta(days=dice.randrange(work.every_days))
        while day < today:
            yield day, work
            day += timedelta(days=work.every_days)


def _do(session: Session, desk: Desk, work: DemoWork, *, day: date, hour: int) -> str:
    begun_at = instant(day, hour)
    benches = tuple(
        desk.known.benches[bench.name] for bench in BENCHES if bench.name.startswith(work.where)
    )
    actor = desk.actors.get(work.by.name) or desk.writer(TRAINEE)
    entry = TreatmentEntry(
        kind=work.kind,
        what=work.what,
        rate=work.rate,
        target=work.target,
        way=work.way,
        begun_at=begun_at,
        reentry_at=begun_at + timedelta(hours=work.reentry_hours) if work.reentry_hours else None,
        by_id=actor.person_id,
        bench_ids=benches,
    )
    kept = {"actor": actor, "now": begun_at + timedelta(minutes=30), "zone": NURSERY.zone}
    return record_treatment(session, **kept, entry=entry).code  # type: ignore[arg-type]


def _do_lately(session: Session, desk: Desk) -> None:
    """Leave a re-entry time running on the day of the demo, and one entry withdrawn."""
    work = next(one for one in WORKS if one.reentry_hours)
    yesterday = desk.today - timedelta(days=1)
    lately = replace(work, where="Standing-out", target="leaf spot", reentry_hours=28)
    _do(session, desk, lately, day=yesterday, hour=18)
    wrong = replace(work, where="Cold frames")
    code = _do(session, desk, wrong, day=desk.today - timedelta(days=9), hour=9)
    withdraw_treatment(
        session,
        actor=desk.writer(HEAD),
        today=desk.today - timedelta(days=9),
        now=instant(desk.today - timedelta(days=9), 10),
        treatment_id=int(code.removeprefix("T-")),
        reason="it was the standing-out bed, not the cold frames",
    )


def _make_lots(session: Session, desk: Desk, mix: KnownMix, *, dice: Random) -> None:
    """Make up an earlier lot that is empty by now, and one that the newest batches are stuck in."""
    for number, days in enumerate((95, 40)):
        day = max(desk.first, desk.today - timedelta(days=days + dice.randrange(9)))
        made = make_mix_lot(
            session,
            actor=desk.writer(TRAINEE),
            today=day,
            now=instant(day, 9),
            entry=_lot(mix, day=day, dice=dice, desk=desk),
        )
        if number == 0:
            empty_on = min(desk.today, day + timedelta(days=38))
            kept = {"today": empty_on, "now": instant(empty_on, 15), "empty": True}
            actor = desk.writer(TRAINEE)
            empty_mix_lot(session, actor=actor, code=made.code, **kept)  # type: ignore[arg-type]
        else:
            _name(session, desk, mix, lot_id=made.id, made_on=day)


def _lot(mix: KnownMix, *, day: date, dice: Random, desk: Desk) -> MixLotEntry:
    volumes = ingredient_volumes(
        tuple(MixPart(ingredient=part.ingredient, parts=part.parts) for part in mix.newest.parts),
        litres=_LOT_LITRES,
        shrinkage_share=_SHRINKS,
    )
    lines = tuple(
        LotIngredient(
            ingredient=volume.ingredient,
            supplier_lot=f"{volume.ingredient[:1].upper()}{dice.randrange(100, 999)}",
            litres=round(volume.litres, 1),
        )
        for volume in volumes
    )
    going_in = sum(line.litres or 0 for line in lines)
    return MixLotEntry(
        mix_version_id=mix.newest.id,
        made_on=day,
        made_by_id=desk.writer(TRAINEE).person_id,
        asked_l=_LOT_LITRES,
        litres=round(going_in * (1 - _SHRINKS + dice.uniform(-_SPREAD, _SPREAD))),
        ingredients=lines,
        extraction="1 : 5 by volume",
        medium_ec=round(dice.uniform(0.2, 0.6), 2),
        medium_ph=round(dice.uniform(5.3, 6.1), 1),
        water_ec=0.38,
        water_ph=7.4,
        container="9 cm pot",
        container_ml=380,
        saturation_ml=round(dice.uniform(255, 275)),
        drained_ml=round(dice.uniform(48, 72)),
    )


def _name(session: Session, desk: Desk, mix: KnownMix, *, lot_id: int, made_on: date) -> None:
    """Let the newest batches in this mix name the lot they were stuck in."""
    query = (
        select(Batch.id)
        .where(
            Batch.mix_version_id == mix.newest.id,
            Batch.stuck_on >= made_on,
            Batch.voided_at.is_(None),
        )
        .order_by(Batch.id.desc())
        .limit(_NAMED_BATCHES)
    )
    for batch_id in session.scalars(query).all():
        row = session.get_one(Batch, batch_id)
        entry = replace(get_batch_entry(session, batch_id=batch_id), mix_lot_id=lot_id)
        correct_batch(
            session,
            actor=desk.writer(HEAD),
            today=desk.today,
            now=instant(desk.today, 7),
            batch_id=batch_id,
            version=row.version,
            entry=entry,
            reason="the lot was not written down",
        )
