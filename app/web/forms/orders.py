"""The forms of an order: as it is entered, and ending it."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from wtforms import RadioField, SelectChoice, SelectField, StringField, TextAreaField

from app.domain.cutting_types import CuttingType, is_cutting
from app.domain.days import parse_day, parse_day_or_week
from app.domain.measures import parse_measure
from app.domain.orders import (
    LEAST_READY,
    LEAST_SURE,
    MOST_BATCHES,
    MOST_PER_PLACE,
    MOST_PLANTS,
    MOST_SURE,
    MOST_WEANING_DAYS,
    MOST_WINDOW_WEEKS,
    NOT_WORKED_OUT,
    USUAL_BATCHES,
    USUAL_SURE,
    USUAL_WINDOW_WEEKS,
    OrderEntry,
    Place,
)
from app.domain.problems import NotAccepted
from app.domain.quantities import parse_quantity
from app.web.form_reading import Reading
from app.web.forms.base import VersionedForm
from app.web.forms.plant_names import PlantBox

_COUNTED: Final = re.compile(r"\s*\b(?:plants?|plugs?|pots?|liners?)\s*$", re.IGNORECASE)
_TYPES: Final = [
    SelectChoice("", "whichever is usual"),
    *(SelectChoice(kind.value) for kind in CuttingType if is_cutting(kind)),
]


@dataclass(frozen=True, kw_only=True)
class FoundForOrder:
    """How the form finds the records named in it; each raises NotAccepted by its field.

    `plant` returns `plant_name_id` or `genus_id` by its name.
    """

    plant: Callable[[], dict[str, int]]
    hormone_id: Callable[[], int | None]


class OrderForm(PlantBox, VersionedForm):
    """An order as typed."""

    plant = StringField(
        "Plant, or a genus",
        description="As on the label, such as Lavandula angustifolia 'Hidcote'; a genus alone "
        "if any plant of it will do.",
        render_kw={"autocapitalize": "off", "spellcheck": "false"},
    )
    plants = StringField("How many")
    due_on = StringField("By when", description='A day such as "14 may", or "week 20".')
    sure = StringField(
        "How sure, %",
        default=f"{USUAL_SURE * 100:g}",
        description="90 means: nine such orders in ten are met in full.",
    )
    for_whom = StringField("For whom", description="A note for yourselves.")
    place = RadioField(
        "One plant is a",
        choices=[place.value for place in Place],
        default=Place.PLUG.value,
        validate_choice=False,
    )
    per_place = StringField("Cuttings in each plug or pot", default="1")
    enough_per_place = StringField(
        "Of these at least so many to root",
        default="1",
        description="For the plug or pot to be good.",
    )
    cutting_type = SelectField("Cutting type", choices=_TYPES, default="", validate_choice=False)
    hormone = StringField(
        "Hormone",
        description='Such as "IBA talc 1000 ppm" or "none"; blank for whichever is usual.',
    )
    batches = StringField(
        "Stuck in so many batches",
        default=str(USUAL_BATCHES),
        description="Of different days and stock plants: trays of one day from one plant are one "
        "batch.",
    )
    window_weeks = StringField("Over so many weeks", default=str(USUAL_WINDOW_WEEKS))
    ready = StringField(
        "Ready of those rooted, %",
        description="Blank for your own records, or else the usual share.",
    )
    weaning_days = StringField(
        "Days from rooted to ready",
        description="Weaning and what else comes before they go. Blank for the usual days.",
    )
    notes = TextAreaField("Notes")

    def entry(self, *, found: FoundForOrder, today: date) -> OrderEntry:
        """Return what was typed.

        Raises:
            NotAccepted: for everything that cannot be read, by its field.
        """
        reading = Reading()
        plant = reading.of(found.plant)
        plants = reading.of(lambda: read_plants(self.plants.data or ""))
        due_on = reading.of(
            lambda: parse_day_or_week(self.due_on.data or "", today=today, field="due_on")
        )
        place = reading.of(lambda: _place(self.place.data or ""))
        kind = reading.of(lambda: read_cutting_type(self.cutting_type.data or ""))
        hormone_id = reading.of(found.hormone_id)
        others = self._others(reading)
        if plant is None or plants is None or due_on is None or place is None or reading.failed:
            raise reading.refusal()
        return OrderEntry(
            **plant,
            plants=plants,
            due_on=due_on,
            place=place,
            cutting_type=kind,
            hormone_id=hormone_id,
            for_whom=self.for_whom.data or "",
            notes=self.notes.data or "",
            **others,
        )

    def _others(self, reading: Reading) -> dict[str, Any]:
        """Return the numbers that have a usual value, which a blank stands for."""
        ready = reading.of(
            lambda: read_percent(self.ready.data or "", field="ready", low=LEAST_READY, high=1)
        )
        sure = reading.of(lambda: read_sure(self.sure.data or ""))
        whole = {
            "per_place": (1, MOST_PER_PLACE, "cuttings", 1),
            "enough_per_place": (1, MOST_PER_PLACE, "cuttings", 1),
            "batches": (1, MOST_BATCHES, "batches", USUAL_BATCHES),
            "window_weeks": (1, MOST_WINDOW_WEEKS, "weeks", USUAL_WINDOW_WEEKS),
            "weaning_days": (0, MOST_WEANING_DAYS, "days", None),
        }
        numbers = {}
        for name, (low, high, unit, usual) in whole.items():
            value = reading.whole(self[name].data, field=name, low=low, high=high, unit=unit)
            numbers[name] = usual if value is None else value
        return numbers | {"ready_share": ready, "sure_share": sure or USUAL_SURE}


class OrderEndForm(VersionedForm):
    """When and why an order is closed."""

    ended_on = StringField("Closed on", default="today")
    reason = StringField("Why", description="Such as called off, or met from elsewhere.")

    def day(self, *, today: date) -> date:
        """Return the day typed.

        Raises:
            NotAccepted: it is no day, or still to come.
        """
        return parse_day(self.ended_on.data or "", today=today, field="ended_on")


def read_plants(typed: str, *, field: str = "plants") -> int:
    """Return how many plants were typed, as "500", "500 plants" or "6 trays of 84".

    Raises:
        NotAccepted: it is no whole number from 1 on.
    """
    counted = _COUNTED.sub("", typed)
    return parse_quantity(counted, field=field, least=1, most=MOST_PLANTS).number


def read_sure(typed: str, *, field: str = "sure") -> float | None:
    """Return the share typed as "90" or "90 %", None for a blank.

    Raises:
        NotAccepted: it is no percentage from 50 to 99.
    """
    return read_percent(typed, field=field, low=LEAST_SURE, high=MOST_SURE)


def read_percent(typed: str, *, field: str, low: float, high: float) -> float | None:
    """Return a share typed in per cent, None for a blank; both limits are shares.

    Raises:
        NotAccepted: it is no percentage within the limits.
    """
    percent = parse_measure(typed, field=field, low=low * 100, high=high * 100, unit="%")
    return None if percent is None else percent / 100


def read_cutting_type(typed: str, *, field: str = "cutting_type") -> CuttingType | None:
    """Return the cutting type chosen, None for whichever is usual.

    Raises:
        NotAccepted: there is no such type, or it is no cutting.
    """
    try:
        kind = CuttingType(typed) if typed else None
        if is_cutting(kind):
            return kind
    except ValueError:
        raise NotAccepted.at(field, "Choose one from the list.") from None
    raise NotAccepted.at(field, NOT_WORKED_OUT)


def _place(typed: str) -> Place:
    try:
        return Place(typed)
    except ValueError:
        raise NotAccepted.at("place", "Choose plug or pot.") from None
