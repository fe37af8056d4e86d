"""Treatments and hygiene: what was done to the house and what stood in it.

What was sprayed, drenched, released, fed, cleaned or set, where, by whom, and until when nobody is
to go back in. Each is a record by itself: a wrong one is withdrawn with a reason, never edited.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from enum import StrEnum
from typing import Final
from zoneinfo import ZoneInfo

from app.domain.days import day_long
from app.domain.people import Actor
from app.domain.permissions import Permission, allowed
from app.domain.problems import NotAccepted, NotAllowed, Problem
from app.domain.work_cautions import WorkCaution

LONGEST_TEXT: Final = 200
LONGEST_NOTES: Final = 4_000
LONGEST_REENTRY: Final = timedelta(days=60)
OWN_DAYS: Final = 1


class TreatmentKind(StrEnum):
    """What kind of work it was."""

    PLANT_PROTECTION = "plant protection"
    BIOLOGICAL = "biological control"
    FEED = "feed"
    DISINFECTANT = "disinfectant"
    BENCH_CLEANING = "bench cleaning"
    TOOL_DISINFECTION = "tool disinfection"
    MIST = "mist setting"
    HEAT = "heat setting"
    OTHER = "other work"


@dataclass(frozen=True, kw_only=True)
class TreatmentEntry:
    """A treatment as it is entered.

    `what` is the product as on its label, or what was set; `rate` the words of the label or the
    new setting; `target` what it is against or for; `way` how it was applied. Nobody is to go back
    in before `reentry_at`. It reaches whatever stood on its benches on its day, and the batches
    and stock plants chosen by themselves.
    """

    kind: TreatmentKind
    what: str
    begun_at: datetime
    rate: str = ""
    target: str = ""
    way: str = ""
    reentry_at: datetime | None = None
    by_id: int | None = None
    bench_ids: tuple[int, ...] = ()
    batch_ids: tuple[int, ...] = ()
    stock_plant_ids: tuple[int, ...] = ()
    notes: str = ""


# Three years: Regulation (EC) 1107/2009, Article 67, FROM MEMORY; said as a thing to ask about.
PRODUCTS: Final = WorkCaution(
    work="Plant protection products and disinfectants",
    sentence=(
        "Only trained users apply them. The product label and licensed practice come first, before "
        "anything on this page: dose, protective clothing, weather, re-entry time. Keep the "
        "records three years, or as long as is asked where you are: ask your adviser."
    ),
    standing="common practice; how long to keep records is from memory, not checked in the law",
)
WATER: Final = WorkCaution(
    work="Mist and heat",
    sentence=(
        "Legionella grows in warm standing water: clean and cool tanks, no full hoses left in the "
        "sun, no stored water above 20 °C for mist. Electricity near water wants a "
        "residual-current device and tested, splash-proof fittings. Ask a competent person."
    ),
)
_OF_WATER: Final = frozenset({TreatmentKind.MIST, TreatmentKind.HEAT})


def treatment_cautions(kind: TreatmentKind | None) -> tuple[WorkCaution, ...]:
    """Return what to mind at a kind of work; both cautions where the kind is not known yet."""
    if kind is None:
        return (PRODUCTS, WATER)
    return (WATER,) if kind in _OF_WATER else (PRODUCTS,)


def accepted_treatment(entry: TreatmentEntry, *, now: datetime) -> TreatmentEntry:
    """Return the entry with its texts tidied.

    Raises:
        NotAccepted: no product, a time still to come, a re-entry time before the beginning or too
            far off, no place, or plant protection without its rate.
    """
    tidy = replace(
        entry,
        what=" ".join(entry.what.split()),
        rate=" ".join(entry.rate.split()),
        target=" ".join(entry.target.split()),
        way=" ".join(entry.way.split()),
        notes=entry.notes.strip(),
    )
    if problems := (*_times(tidy, now=now), *_words(tidy), *_places(tidy)):
        raise NotAccepted(problems)
    return tidy


def is_running(reentry_at: datetime | None, *, now: datetime) -> bool:
    """Return whether nobody is to go back in yet."""
    return reentry_at is not None and now < reentry_at


def local_day(at: datetime, *, zone: str) -> date:
    """Return the nursery's day of an instant; `zone` as in IANA's list."""
    return at.astimezone(ZoneInfo(zone)).date()


def time_words(at: datetime, *, zone: str) -> str:
    """Return an instant by the nursery's clock, such as "14:30 on Wed 25 November 2026"."""
    local = at.astimezone(ZoneInfo(zone))
    return f"{local:%H:%M} on {day_long(local.date())}"


def reentry_words(what: str, *, reentry_at: datetime, where: str, zone: str) -> str:
    """Return the warning that stands on pages while a re-entry time runs."""
    return (
        f"Keep out before {time_words(reentry_at, zone=zone)}: {what}"
        f"{f', {where}' if where else ''}. The product label and licensed practice come first."
    )


def refuse_foreign_treatment(
    actor: Actor, *, recorded_by_id: int | None, made_on: date, today: date
) -> None:
    """Let pass whoever may withdraw a treatment: a head, or who entered it today or yesterday.

    Raises:
        NotAllowed: this person may not; the words say whom to ask.
    """
    own = recorded_by_id == actor.person_id and allowed(actor.role, Permission.CORRECT_OWN)
    recent = (today - made_on).days <= OWN_DAYS
    if not allowed(actor.role, Permission.CORRECT_ANY) and not (own and recent):
        raise NotAllowed(
            "You can withdraw what you entered yourself today or yesterday. Ask the head "
            "propagator to withdraw this one."
        )


def _times(entry: TreatmentEntry, *, now: datetime) -> Iterator[Problem]:
    if entry.begun_at > now:
        sentence = "This time is still to come: give when it was begun."
        yield Problem(field="begun_time", sentence=sentence)
    if entry.reentry_at is None:
        return
    if entry.reentry_at < entry.begun_at:
        sentence = "This is before it was begun: give the re-entry time from the product label."
        yield Problem(field="reentry_time", sentence=sentence)
    elif entry.reentry_at - entry.begun_at > LONGEST_REENTRY:
        sentence = f"Give a re-entry time within {LONGEST_REENTRY.days} days of the treatment."
        yield Problem(field="reentry_on", sentence=sentence)


def _words(entry: TreatmentEntry) -> Iterator[Problem]:
    if not entry.what:
        sentence = "Name the product as on its label, or what was set or done."
        yield Problem(field="what", sentence=sentence)
    if entry.kind is TreatmentKind.PLANT_PROTECTION and not entry.rate:
        yield Problem(field="rate", sentence="Give the rate used, as on the product label.")
    for field in ("what", "rate", "target", "way"):
        if len(getattr(entry, field)) > LONGEST_TEXT:
            sentence = f"Shorten this to at most {LONGEST_TEXT} characters."
            yield Problem(field=field, sentence=sentence)
    if len(entry.notes) > LONGEST_NOTES:
        sentence = f"Shorten the notes to at most {LONGEST_NOTES:,} characters."
        yield Problem(field="notes", sentence=sentence)


def _places(entry: TreatmentEntry) -> Iterator[Problem]:
    named = entry.bench_ids or entry.batch_ids or entry.stock_plant_ids
    if not named and entry.kind is not TreatmentKind.TOOL_DISINFECTION:
        sentence = "Say where: tick a bench, or name batches or stock plants by their codes."
        yield Problem(field="benches", sentence=sentence)
