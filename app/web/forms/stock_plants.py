"""The forms of a stock plant: as it is entered, and discarding it."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Final, TypeVar

from wtforms import RadioField, SelectChoice, SelectField, StringField, TextAreaField

from app.domain.days import parse_day, parse_optional_day
from app.domain.measures import parse_measure
from app.domain.problems import NotAccepted
from app.domain.stock_plants import (
    MOST_PER_PLANT,
    MOST_PLANTS,
    MOST_REST_WEEKS,
    Origin,
    StockPlantEntry,
    StockPlantState,
)
from app.web.form_reading import Reading
from app.web.forms.base import VersionedForm
from app.web.forms.plant_names import PlantBox
from app.web.times_of_day import read_instant

_Known = TypeVar("_Known", StockPlantState, Origin)
_STATES: Final = [
    state.value for state in StockPlantState if state is not StockPlantState.DISCARDED
]
_ORIGINS: Final = [
    SelectChoice(Origin.NOT_RECORDED.value, "not recorded"),
    SelectChoice(Origin.BOUGHT_IN.value, "bought in"),
    SelectChoice(Origin.RAISED_HERE.value, "raised here"),
    SelectChoice(Origin.GIVEN.value, "given"),
    SelectChoice(Origin.COLLECTED.value, "collected with permission"),
]
_FLOWERING_WORDS: Final = [
    SelectChoice("", "not recorded"),
    SelectChoice("yes", "yes"),
    SelectChoice("no", "no"),
]
_FLOWERING: Final = {"": None, "yes": True, "no": False}
_FIRST_DAYS: Final = {
    "cut_back_on": False,
    "renew_by": True,
    "tested_until": True,
    "true_to_type_on": False,
}
"""The days that a new one begins with, and whether each looks ahead."""

_TEXTS: Final = ("state_reason", "supplier", "supplier_reference", "notes")


@dataclass(frozen=True, kw_only=True)
class FoundRecords:
    """How the form finds the records that are named in it; each raises NotAccepted by its field."""

    plant_name_id: Callable[[], int]
    raised_from_id: Callable[[], int | None]


class StockPlantForm(PlantBox, VersionedForm):
    """A stock plant as typed when it is corrected."""

    bench = SelectField("Bench", choices=[], validate_choice=False)
    state = RadioField(
        "State, as far as you set it yourself",
        choices=_STATES,
        default=StockPlantState.FIT.value,
        description="It rests by itself after a cut, and is watched or on hold by what inspections "
        "and tests find.",
    )
    state_reason = StringField("Why", description="Needed for one on hold.")
    origin = SelectField("Where it came from", choices=_ORIGINS, default="")
    raised_from = StringField("Raised from batch", description="Its code, such as 26-0147.")
    supplier = StringField("Supplier or giver")
    supplier_reference = StringField("Their reference", description="Lot, passport or invoice.")
    came_on = StringField("Came on")
    rest_weeks = StringField("Weeks of rest between two cuts")
    expected_per_plant = StringField("Cuttings expected from a plant at one cut")
    flowering = SelectField("In flower now", choices=_FLOWERING_WORDS, default="")
    reentry_on = StringField(
        "No work among it before",
        description="The day of the re-entry time after a treatment. Follow the product label, "
        "local rules and licensed practice.",
    )
    reentry_time = StringField("and before the time", description="Such as 14:30.")
    notes = TextAreaField("Notes")

    def offer_benches(self, choices: list[SelectChoice]) -> None:
        """Offer these benches, none first."""
        self.bench.choices = [SelectChoice("", "not recorded"), *choices]

    def entry(self, *, found: FoundRecords, today: date, zone: str) -> StockPlantEntry:
        """Return what was typed.

        Raises:
            NotAccepted: for everything that cannot be read, by its field.
        """
        reading = Reading()
        plant_name_id = reading.of(found.plant_name_id)
        raised_from_id = reading.of(found.raised_from_id)
        bench_id = reading.of(self._bench_id)
        state = reading.of(lambda: _one_of(StockPlantState, self.state.data, field="state"))
        origin = reading.of(lambda: _one_of(Origin, self.origin.data, field="origin"))
        others = self._plain(reading)
        others["came_on"] = self._day(reading, "came_on", today=today)
        others |= self._beginning(reading, today=today)
        reentry_at = reading.of(lambda: self._reentry(today=today, zone=zone))
        if plant_name_id is None or state is None or origin is None or reading.failed:
            raise reading.refusal()
        return StockPlantEntry(
            plant_name_id=plant_name_id,
            bench_id=bench_id,
            state=state,
            origin=origin,
            raised_from_id=raised_from_id,
            flowering=_FLOWERING.get(self.flowering.data or ""),
            reentry_at=reentry_at,
            **others,
        )

    def _plain(self, reading: Reading) -> dict[str, Any]:
        """Return the numbers and texts by their field."""
        expected = reading.of(
            lambda: parse_measure(
                self.expected_per_plant.data or "",
                field="expected_per_plant",
                low=0.1,
                high=MOST_PER_PLANT,
            )
        )
        return {name: self[name].data or "" for name in _TEXTS} | {
            "expected_per_plant": expected,
            "rest_weeks": reading.whole(
                self.rest_weeks.data, field="rest_weeks", low=0, high=MOST_REST_WEEKS
            ),
        }

    def _beginning(self, reading: Reading, *, today: date) -> dict[str, Any]:
        """Return how a new one begins, in the boxes that only its form has."""
        plants = (
            # A blank is no number of plants, and is refused as none.
            reading.whole(self["plants"].data, field="plants", low=1, high=MOST_PLANTS) or 0
            if "plants" in self
            else 1
        )
        days = {
            name: self._day(reading, name, today=today, ahead=ahead)
            for name, ahead in _FIRST_DAYS.items()
            if name in self
        }
        return days | {"plants": plants}

    def _bench_id(self) -> int | None:
        chosen = self.bench.data or ""
        if chosen and chosen not in {str(choice.value) for choice in self.bench.choices}:
            raise NotAccepted.at("bench", "Choose one from the list.")
        return int(chosen) if chosen else None

    def _day(self, reading: Reading, name: str, *, today: date, ahead: bool = False) -> date | None:
        typed = self[name].data or ""
        return reading.of(lambda: parse_optional_day(typed, today=today, field=name, ahead=ahead))

    def _reentry(self, *, today: date, zone: str) -> datetime | None:
        return read_instant(
            self.reentry_on.data or "",
            self.reentry_time.data or "",
            today=today,
            zone=zone,
            field="reentry",
            ahead=True,
        )


class NewStockPlantForm(StockPlantForm):
    """A new stock plant as typed, with how it begins."""

    plants = StringField("Number of plants", default="1")
    cut_back_on = StringField("Cut back on")
    renew_by = StringField("Renew by")
    tested_until = StringField("Tested until", description="The last day the test holds.")
    true_to_type_on = StringField("Looked at as true to type on")


class DiscardForm(VersionedForm):
    """When and why a stock plant is discarded."""

    discarded_on = StringField("Discarded on", default="today")
    reason = StringField("Why", description="Such as virus, old and woody, not true to type.")

    def day(self, *, today: date) -> date:
        """Return the day typed.

        Raises:
            NotAccepted: it is no day.
        """
        return parse_day(self.discarded_on.data or "", today=today, field="discarded_on")


def _one_of(known: type[_Known], typed: str | None, *, field: str) -> _Known:
    try:
        return known(typed or "")
    except ValueError:
        raise NotAccepted.at(field, "Choose one from the list.") from None
