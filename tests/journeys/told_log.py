"""A small log that has something on every page, told through the services."""

from dataclasses import dataclass, replace
from datetime import timedelta
from pathlib import Path
from typing import Any, Final

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.batch_moves import MoveEntry
from app.domain.batches import SourceKind, SourceLine
from app.domain.benches import BenchEntry
from app.domain.calendar_feeds import FeedScope
from app.domain.check_plans import CheckPlan, PlanLevel
from app.domain.cutting_types import CuttingType
from app.domain.dispatches import DispatchEntry, SentLine
from app.domain.holds import HoldEntry
from app.domain.hormones import parse_hormone
from app.domain.liner_stages import Stage
from app.domain.lines import Member, MemberKind
from app.domain.mix_lots import LotIngredient, MixLotEntry
from app.domain.orders import OrderEntry
from app.domain.outcomes import CheckKind, Ending
from app.domain.people import Actor, Role
from app.domain.plant_passports import PassportEntry, PassportSettings, Territory
from app.domain.round_sheets import LinesEntry, TypedLine
from app.domain.season_lines import SeasonLineEntry
from app.domain.sign_offs import SignOffEntry
from app.domain.stock_plant_events import EventEntry, EventKind, Result
from app.domain.stock_plants import Origin, StockPlantEntry, StockPlantState
from app.domain.treatments import TreatmentEntry, TreatmentKind
from app.domain.typed_counts import RootedAs
from app.services.batch_moves import move_batch
from app.services.batches import void_batch
from app.services.bench_walks import walk_bench
from app.services.benches import add_bench, close_bench
from app.services.calendar_feeds import make_feed
from app.services.check_plans import PlanPlace, set_plan
from app.services.checks import withdraw_check
from app.services.dispatches import send_out
from app.services.fits import learn
from app.services.holds import place_hold
from app.services.label_numbers import put_label_on, reserve_label_numbers
from app.services.mix_lots import make_mix_lot
from app.services.orders import add_order
from app.services.people import PersonEntry, add_person
from app.services.photographs import withdraw_photograph
from app.services.plant_names import keep_plant_name, resolve_plant
from app.services.plant_passports import (
    issue_passport,
    set_passport_settings,
    void_passport,
)
from app.services.round_sheets import print_round_sheet, type_in_lines
from app.services.season_lines import add_season_line
from app.services.sign_offs import sign_off, withdraw_sign_off
from app.services.starting_data import load_starting_data
from app.services.stock_plant_events import record_event, withdraw_event
from app.services.stock_plants import add_stock_plant, discard_stock_plant
from app.services.treatments import record_treatment
from app.store.models.genera import Genus
from app.store.models.mixes import MixVersion
from app.store.queries.batches import find_batch_id
from app.store.queries.hold_finds import list_touched
from app.store.session import Database
from tests.conftest import NOW, TODAY
from tests.journeys.told_practicals import tell_practicals
from tests.services.batch_records import days_ago
from tests.services.check_records import Stuck, check, correct, lost, said, stick
from tests.services.liner_records import cause, happened, of_batch, pot, stage
from tests.services.photograph_records import photograph

STORY: Final = "26-0001"
"""Counted, corrected, sampled, with a check withdrawn; late."""
UNSEEN: Final = "26-0002"
"""Never looked at; stands on two benches."""
VOID: Final = "26-0003"
FINISHED: Final = "26-0004"
CLEARED: Final = "26-0005"
LINED_OUT: Final = "26-0006"
RESTUCK: Final = "26-0007"
POTTED: Final = "26-0008"
"""Some of its rooted ones are liner lots: L-0001 growing on, L-0002 ready. L-0005 is empty."""
HELD: Final = "S-0002"
"""A stock plant on hold."""
DISCARDED: Final = "S-0003"

WRONG_SHEET: Final = """batch,plant,stuck_on,stuck,bench,checked_on,rooted,lost,lost_cause,weather
C1,Prunus domestica,2026-05-01,100,Bench 9,2026-06-01,30,4,basal rot,dry
C2,Prunus domestica,2026-05-32,100,,,,,,
C1,,,,,2026-06-20,130,,,
"""

_HEBE: Final = "Hebe 'Great Orme'"
_LONGEST: Final = "Chamaecyparis lawsoniana 'Wissel's Saguaro'"


def tell_small_log(database: Database) -> None:
    """Tell it, and learn what its batches teach."""
    head = Actor(person_id=1, person_key="key-of-head", name="Ines Farrow", role=Role.HEAD)
    trainee = replace(head, person_id=2, person_key="key-of-trainee", role=Role.TRAINEE)
    with database.writing() as session:
        load_starting_data(session, now=NOW)
        teller = _Teller(session=session, head=head, trainee=trainee)
        teller.tell_places()
        teller.tell_stock_plants()
        teller.tell_stock_plant_care()
        teller.tell_mix_lots()
        teller.tell_batches()
        teller.tell_labels()
        teller.tell_endings()
        teller.tell_seasons()
        teller.tell_plans()
        teller.tell_orders()
        teller.tell_treatments()
        teller.tell_holds()
        teller.tell_liners()
        teller.tell_passports()
        teller.tell_round_sheets()
        teller.tell_photographs(database.path.parent / "photographs")
        tell_practicals(session, teller.head, teller.plant(_HEBE), batches=(STORY, FINISHED))
    learn(database, now=NOW)


@dataclass(kw_only=True)
class _Teller:
    """Writes the small log, a chapter at a time."""

    session: Session
    head: Actor
    trainee: Actor

    def tell_holds(self) -> None:
        """A hold that stands, on the stock plant that was on hold."""
        suspect = Member(kind=MemberKind.STOCK_PLANT, id=2)
        entry = HoldEntry(suspect=suspect, suspected="spots on the leaves, spreading")
        touched = list_touched(self.session, suspect=suspect)
        place_hold(
            self.session, actor=self.head, today=TODAY, now=NOW, entry=entry, touched=touched
        )

    def tell_passports(self) -> None:
        """One that holds and one that is void."""
        kept = {"session": self.session, "actor": self.head, "now": NOW}
        settings = PassportSettings(territory=Territory.GB, operator_number="12345")
        set_passport_settings(**kept, version=1, settings=settings)  # type: ignore[arg-type]
        entry = PassportEntry(
            plant=_LONGEST, traceability_code=UNSEEN, origin="GB", plants=120, northern_ireland=True
        )
        for _ in range(2):
            issued = issue_passport(**kept, today=TODAY, batch_id=2, entry=entry)  # type: ignore[arg-type]
        void_passport(**kept, passport_id=issued.id, reason="entered twice")  # type: ignore[arg-type]

    def tell_places(self) -> None:
        for name in ("Mist bench 2", "Cold frame by the north wall", "Old bench"):
            entry = BenchEntry(name=name, capacity_trays=24)
            add_bench(self.session, actor=self.head, now=NOW, entry=entry)
        close_bench(self.session, actor=self.head, now=NOW, bench_id=3)
        person = PersonEntry(name="Wilhelmina Featherstonehaugh", notes="comes on Saturdays")
        add_person(self.session, actor=self.head, now=NOW, entry=person)
        for technique in (CuttingType.SEMI_RIPE.value, "checking batches"):
            seen = SignOffEntry(technique=technique, signed_on=days_ago(3), note="ten clean cuts")
            sign_off(
                self.session,
                actor=self.head,
                today=TODAY,
                now=NOW,
                key=self.trainee.person_key,
                entry=seen,
            )
        withdraw_sign_off(
            self.session, actor=self.head, now=NOW, sign_off_id=2, reason="to be seen again"
        )

    def tell_stock_plants(self) -> None:
        hebe = self.plant(_HEBE)
        for more in (
            {"bench_id": 2, "plants": 12, "rest_weeks": 6, "expected_per_plant": 8.0},
            {"state": StockPlantState.ON_HOLD, "state_reason": "spots on the leaves"},
            {"origin": Origin.BOUGHT_IN, "supplier": "Farrow and Quill", "came_on": days_ago(400)},
        ):
            entry = StockPlantEntry(plant_name_id=hebe, **more)  # type: ignore[arg-type]
            kept = {"session": self.session, "actor": self.head, "today": TODAY, "now": NOW}
            add_stock_plant(**kept, entry=entry)  # type: ignore[arg-type]
        discard_stock_plant(
            self.session,
            actor=self.head,
            now=NOW,
            today=TODAY,
            stock_plant_id=3,
            version=1,
            discarded_on=days_ago(3),
            reason="virus",
        )

    def tell_stock_plant_care(self) -> None:
        for more in (
            {"kind": EventKind.CUT_BACK},
            {"kind": EventKind.INSPECTED, "result": Result.GOOD, "until_on": days_ago(-3)},
        ):
            event_id = record_event(
                self.session,
                actor=self.head,
                today=TODAY,
                now=NOW,
                stock_plant_id=2,
                entry=EventEntry(happened_on=days_ago(1), **more),  # type: ignore[arg-type]
            )
        withdraw_event(
            self.session,
            actor=self.head,
            today=TODAY,
            now=NOW,
            event_id=event_id - 1,
            reason="another plant",
        )

    def tell_mix_lots(self) -> None:
        kept = {"session": self.session, "actor": self.head, "today": TODAY, "now": NOW}
        line = LotIngredient(ingredient="perlite", supplier_lot="K 22", litres=330)
        entry = MixLotEntry(
            mix_version_id=1,
            made_on=days_ago(30),
            litres=300,
            ingredients=(line,),
            medium_ph=3.9,
            container="9 cm pot",
            container_ml=380,
            saturation_ml=266,
            drained_ml=57,
        )
        make_mix_lot(**kept, entry=entry)  # type: ignore[arg-type]

    def tell_labels(self) -> None:
        kept = {"actor": self.head, "now": NOW}
        reserve_label_numbers(self.session, number=20, **kept)  # type: ignore[arg-type]
        put_label_on(self.session, typed="N-0001", batch_code=STORY, **kept)  # type: ignore[arg-type]
        make_feed(self.session, scope=FeedScope.ALL, **kept)  # type: ignore[arg-type]

    def tell_batches(self) -> None:
        source = SourceLine(kind=SourceKind.STOCK_PLANT, stock_plant_id=1, number=96)
        story = self.stick(
            _HEBE,
            sources=(source,),
            bench_id=1,
            cutting_type=CuttingType.SEMI_RIPE,
            hormone=parse_hormone("IBA talc 1000 ppm"),
            container_id=1,
            mix_version_id=self.session.scalar(select(MixVersion.id).limit(1)),
            cover="mist",
            bottom_heat_c=18.0,
            notes="Cut early, before the sun.",
        )
        first = self.check(story, said(21, 12, lost=lost(4)))
        correct(self.session, self.head, first, said(21, 10, lost=lost(4)))
        self.check(story, said(16, 3, kind=CheckKind.SAMPLE, looked=10))
        again = self.check(story, said(14, 9, note="the left tray twice"))
        withdraw_check(
            self.session,
            actor=self.head,
            now=NOW,
            check_id=again.check_id,
            version=again.version,
            reason="counted twice",
        )
        self.check(story, said(12, 20, callused=30))
        of_lot = {"mix_lot_id": 1, "trays": 2, "stuck": 168}
        unseen = self.stick(_LONGEST, bench_id=1, stuck_on=days_ago(9), **of_lot)
        moved = MoveEntry(to_bench_id=2, moved_on=days_ago(2), trays=1)
        kept = {"actor": self.head, "today": TODAY, "now": NOW}
        move_batch(self.session, **kept, batch_id=unseen.id, entry=moved)  # type: ignore[arg-type]

    def tell_endings(self) -> None:
        twice = self.stick(_HEBE, bench_id=1)
        void_batch(
            self.session,
            actor=self.head,
            today=TODAY,
            now=NOW,
            batch_id=twice.id,
            reason="entered twice",
        )
        partly = self.stick("Cistus × purpureus", stuck=192)
        cleared = self.stick("+Laburnocytisus 'Adamii'", bench_id=1)
        ending = {"ending": Ending.CLEARED_UNROOTED, "ending_cause": "bench needed"}
        self.check(cleared, said(1, 30, **ending))
        hardwood = {"cutting_type": CuttingType.HARDWOOD, "taken_on": days_ago(20)}
        self.stick("Forsythia × intermedia", stuck_on=days_ago(18), bench_id=2, **hardwood)
        again = {"stuck_on": days_ago(30), "restuck_from_id": partly.id}
        self.stick("Cistus × purpureus", bench_id=2, **again)
        self.check(partly, said(2, 70, lost=lost(26, "grey mould")))

    def tell_seasons(self) -> None:
        """Finish enough batches, by two ways and three people, to learn from."""
        ways = ("IBA talc 1000 ppm", "IBA talc 3000 ppm", "none")
        for number in range(18):
            plant = (_HEBE, "Salvia officinalis", "Cistus × purpureus")[number % 3]
            age = 90 + 23 * number
            batch = self.stick(
                plant,
                stuck=60,
                stuck_on=days_ago(age),
                cutting_type=CuttingType.SEMI_RIPE if number % 2 else CuttingType.SOFTWOOD,
                hormone=parse_hormone(ways[number % 3 if number % 5 else 0]),
                bench_id=1 + number % 2,
                stuck_by_id=1 + number % 3,
            )
            self.check(batch, said(age - 24, 8 + number % 7, lost=lost(3)))
            self.check(batch, said(age - 38, 20 - number % 4, lost=lost(2, "dried out")))
            self.check(batch, said(age - 66, 6, ending=Ending.DUMPED))

    def tell_plans(self) -> None:
        for place in (
            PlanPlace(level=PlanLevel.GENUS, genus_id=self.genus_id("Hebe")),
            PlanPlace(level=PlanLevel.BATCH, batch_id=2),
        ):
            plan = CheckPlan(look_every_days=5, first_count_day=28)
            set_plan(self.session, actor=self.head, now=NOW, place=place, version=0, plan=plan)
        walk_bench(self.session, actor=self.trainee, today=TODAY, now=NOW, bench_id=2)

    def tell_orders(self) -> None:
        hebe = self.plant(_HEBE)
        kept = {"session": self.session, "actor": self.head, "today": TODAY, "now": NOW}
        for days, plants in ((170, 120), (20, 90)):
            entry = OrderEntry(plant_name_id=hebe, plants=plants, due_on=days_ago(-days))
            add_order(**kept, entry=entry)  # type: ignore[arg-type]
        line = SeasonLineEntry(order_number=1, week_on=days_ago(-60), cuttings=60, note="by hand")
        add_season_line(**kept, entry=line)  # type: ignore[arg-type]

    def tell_treatments(self) -> None:
        for hours, more in (
            (-30, {"kind": TreatmentKind.BENCH_CLEANING, "what": "Soap and water"}),
            (
                -2,
                {
                    "kind": TreatmentKind.PLANT_PROTECTION,
                    "what": "Fungicide as on its label",
                    "rate": "2 g in 10 litres",
                    "reentry_at": NOW + timedelta(hours=10),
                },
            ),
        ):
            entry = TreatmentEntry(
                begun_at=NOW + timedelta(hours=hours), bench_ids=(1, 2), by_id=1, **more
            )
            record_treatment(self.session, actor=self.head, now=NOW, zone="UTC", entry=entry)

    def tell_liners(self) -> None:
        """Pot up two batches of one plant: lots growing on, ready, sent out in part, and empty."""
        for code in (POTTED, "26-0011"):
            batch_id = find_batch_id(self.session, code=code) or 0
            batch = Stuck(id=batch_id, code=code)
            lot = pot(self.session, self.head, batch, 24, days=12)
            lost_cause = cause(self.session)
            dry = stage(Stage.LOST, 9, number=2, cause_id=lost_cause, notes="by the door")
            happened(self.session, self.head, lot, dry)
            happened(self.session, self.head, lot, stage(Stage.READY, 4, number=20))
        of_batch(self.session, self.head, batch, stage(Stage.WEANING, 13))
        happened(self.session, self.head, 2, stage(Stage.SENT_OUT, 1, number=12))
        lines = (SentLine(code="L-0002", number=2),)
        entry = DispatchEntry(
            sent_on=days_ago(1), to_name="Wetherby and Daughters", reference="4711", lines=lines
        )
        send_out(self.session, actor=self.head, today=TODAY, now=NOW, entry=entry)
        few = pot(self.session, self.head, batch, 2, days=8)
        dead = stage(Stage.LOST, 3, number=2, cause_id=cause(self.session))
        happened(self.session, self.head, few, dead)

    def tell_round_sheets(self) -> None:
        """Make two sheets; of the first a line is typed in, and a batch was checked since."""
        kept: dict[str, Any] = {"session": self.session, "actor": self.head, "today": TODAY}
        for _ in range(2):
            print_round_sheet(**kept, now=NOW - timedelta(hours=1))
        line = TypedLine(position=1, looked=True)
        entry = LinesEntry(checked_on=TODAY, checked_by_id=1, typed_as=RootedAs.NEW, lines=(line,))
        type_in_lines(**kept, now=NOW, number=1, entry=entry)

    def tell_photographs(self, folder: Path) -> None:
        kept: dict[str, Any] = {"session": self.session, "actor": self.head, "folder": folder}
        photograph(**kept, check_id=1, caption="Roots at the edge of the plug", taken_by_id=2)
        photograph(**kept, seed=2, check_id=1)
        photograph(**kept, seed=3, stock_plant_id=1)
        wrong = {"photograph_id": photograph(**kept, seed=4, stock_plant_id=1), "version": 1}
        said_so = {"actor": self.head, "today": TODAY, "now": NOW, "reason": "another plant"}
        withdraw_photograph(self.session, **wrong, **said_so)  # type: ignore[arg-type]

    def plant(self, typed: str) -> int:
        name = resolve_plant(self.session, typed=typed).name
        return keep_plant_name(self.session, actor=self.head, now=NOW, name=name)

    def genus_id(self, name: str) -> int:
        return self.session.scalars(select(Genus.id).where(Genus.name == name)).one()

    def stick(self, typed: str, **more: Any) -> Stuck:
        return stick(self.session, self.head, plant=self.plant(typed), **more)

    def check(self, batch: Stuck, entry: Any) -> Any:
        return check(self.session, self.trainee, batch, entry)
