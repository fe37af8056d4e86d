"""The forms of a treatment: writing one down, withdrawing a wrong one."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime

from wtforms import (
    SelectChoice,
    SelectField,
    SelectMultipleField,
    StringField,
    TextAreaField,
)

from app.domain.problems import NotAccepted, Problem
from app.domain.treatments import TreatmentEntry, TreatmentKind
from app.store.queries.batch_choices import Choice
from app.web.form_reading import Reading
from app.web.forms.base import PostForm
from app.web.times_of_day import read_instant

_DAY = '"24/11", "24 nov", "-3" or "t" for today.'


@dataclass(frozen=True, kw_only=True)
class Finders:
    """How the form finds the records named by their codes; None where there is none."""

    batch: Callable[[str], int | None]
    stock_plant: Callable[[str], int | None]


class TreatmentForm(PostForm):
    """A treatment as typed."""

    kind = SelectField(
        "What kind of work",
        choices=[SelectChoice(kind.value) for kind in TreatmentKind],
        validate_choice=False,
    )
    what = StringField(
        "Product, or what was set or done",
        description="The product's name as on its label; for mist or heat what was set.",
    )
    rate = StringField("Rate or setting", description="The words of the label, or the new setting.")
    target = StringField("Against or for", description="Such as sciarid fly, or grey mould.")
    way = StringField("How", description="Such as sprayed, drenched, released, wiped.")
    benches = SelectMultipleField("Benches", choices=[], validate_choice=False)
    batches = StringField(
        "Batches by themselves",
        description="Wherever they stand: codes with commas between, such as 26-0147, 26-0150.",
    )
    stock_plants = StringField(
        "Stock plants by themselves", description="Codes such as S-0031, S-0032."
    )
    by = SelectField("By", choices=[], validate_choice=False)
    begun_on = StringField("Begun on", description=_DAY)
    begun_time = StringField("Begun at", description="The time, such as 8:30.")
    reentry_on = StringField(
        "Nobody goes back in before",
        description="The day of the re-entry time on the product label; blank if it asks for none.",
    )
    reentry_time = StringField("and before the time", description="Such as 14:30.")
    notes = TextAreaField("Notes")

    def offer(self, *, benches: tuple[Choice, ...], people: tuple[Choice, ...]) -> None:
        """Give the form its benches and people."""
        self.benches.choices = [SelectChoice(str(bench.id), bench.name) for bench in benches]
        self.by.choices = [
            SelectChoice("", "not recorded"),
            *(SelectChoice(str(person.id), person.name) for person in people),
        ]

    def entry(self, *, found: Finders, today: date, zone: str) -> TreatmentEntry:
        """Return what was typed.

        Raises:
            NotAccepted: for everything that cannot be read, by its field.
        """
        reading = Reading()
        kind = reading.of(self._kind)
        begun_at = reading.of(lambda: self._instant("begun", today=today, zone=zone))
        reentry_at = reading.of(
            lambda: self._instant("reentry", today=today, zone=zone, ahead=True)
        )
        batch_ids = reading.of(lambda: self._codes("batches", found.batch))
        plant_ids = reading.of(lambda: self._codes("stock_plants", found.stock_plant))
        bench_ids = reading.of(self._bench_ids)
        if begun_at is None and not reading.failed:
            raise NotAccepted.at("begun_on", "Give the day and the time it was begun.")
        if kind is None or begun_at is None or reading.failed:
            raise reading.refusal()
        return TreatmentEntry(
            kind=kind,
            what=self.what.data or "",
            rate=self.rate.data or "",
            target=self.target.data or "",
            way=self.way.data or "",
            begun_at=begun_at,
            reentry_at=reentry_at,
            by_id=int(self.by.data) if (self.by.data or "").isdecimal() else None,
            bench_ids=bench_ids or (),
            batch_ids=batch_ids or (),
            stock_plant_ids=plant_ids or (),
            notes=self.notes.data or "",
        )

    def _instant(
        self, field: str, *, today: date, zone: str, ahead: bool = False
    ) -> datetime | None:
        return read_instant(
            self[f"{field}_on"].data or "",
            self[f"{field}_time"].data or "",
            today=today,
            zone=zone,
            field=field,
            ahead=ahead,
        )

    def _kind(self) -> TreatmentKind:
        try:
            return TreatmentKind(self.kind.data or "")
        except ValueError:
            raise NotAccepted.at("kind", "Choose one from the list.") from None

    def _bench_ids(self) -> tuple[int, ...]:
        offered = {choice.value for choice in self.benches.choices}
        ticked = tuple(self.benches.data or ())
        if not set(ticked) <= offered:
            raise NotAccepted.at("benches", "Choose benches from the list.")
        return tuple(int(one) for one in ticked)

    def _codes(self, field: str, find: Callable[[str], int | None]) -> tuple[int, ...]:
        typed = (self[field].data or "").replace(";", ",").split(",")
        found, unknown = [], []
        for code in (one.strip() for one in typed if one.strip()):
            record = find(code)
            found.append(record)
            if record is None:
                unknown.append(code)
        if unknown:
            sentence = f"Not in the log: {', '.join(unknown)}. Look at the codes on the labels."
            raise NotAccepted((Problem(field=field, sentence=sentence),))
        return tuple(one for one in found if one is not None)


class WithdrawForm(PostForm):
    """Why a treatment is withdrawn."""

    reason = StringField("Why", description="Such as entered for the wrong bench.")
