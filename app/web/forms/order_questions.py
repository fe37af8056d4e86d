"""What is asked of a plan, as a form; it is sent by GET and changes nothing."""

from dataclasses import dataclass
from datetime import date
from typing import Final

from werkzeug.datastructures import MultiDict
from wtforms import Form, SelectChoice, SelectField, StringField

from app.domain.cutting_types import CuttingType
from app.domain.days import MONTHS, parse_day, parse_day_or_week
from app.domain.orders import MOST_BATCHES, USUAL_BATCHES, USUAL_SURE
from app.domain.problems import NotAccepted
from app.web.form_reading import Reading
from app.web.forms.orders import read_cutting_type, read_plants, read_sure

_TYPES: Final = [
    SelectChoice("", "whichever is usual"),
    *(SelectChoice(kind.value) for kind in CuttingType),
]
_MONTHS: Final = [
    SelectChoice("", "the latest that does"),
    *(SelectChoice(str(place), name) for place, name in enumerate(MONTHS, start=1)),
]
_MIDDLE_OF_MONTH: Final = 15


@dataclass(frozen=True, kw_only=True)
class WhatIf:
    """How it is to be stuck: everything that may be turned to see the answer move."""

    sure_share: float
    batches: int
    cutting_type: CuttingType | None
    stick_on: date | None


class WhatIfForm(Form):
    """Sureness, method, month or day, and number of batches."""

    sure = StringField("How sure, %")
    batches = StringField("In so many batches")
    cutting_type = SelectField("Cutting type", choices=_TYPES, validate_choice=False)
    hormone = StringField("Hormone", description="Blank for whichever is usual.")
    month = SelectField("Stuck in", choices=_MONTHS, validate_choice=False)
    stick_on = StringField("Or on the day", description='Such as "1 march".')

    def __init__(self, args: MultiDict[str, str], *, usual: dict[str, str]) -> None:
        super().__init__(MultiDict({**usual, **args.to_dict()}))

    def refuse(self, refusal: NotAccepted) -> None:
        """Put each sentence beside the field it is about."""
        for problem in refusal.problems:
            field = self[problem.field]
            field.errors = [*field.errors, problem.sentence]

    def read_what_if(self, reading: Reading, *, today: date, due_on: date | None) -> WhatIf:
        """Return what is to be tried; what cannot be read is kept in `reading`."""
        sure = reading.of(lambda: read_sure(self.sure.data or ""))
        batches = reading.whole(
            self.batches.data, field="batches", low=1, high=MOST_BATCHES, unit="batches"
        )
        kind = reading.of(lambda: read_cutting_type(self.cutting_type.data or ""))
        stick_on = reading.of(lambda: self._stick_on(today=today, due_on=due_on))
        return WhatIf(
            sure_share=sure or USUAL_SURE,
            batches=batches or USUAL_BATCHES,
            cutting_type=kind,
            stick_on=stick_on,
        )

    def _stick_on(self, *, today: date, due_on: date | None) -> date | None:
        typed = self.stick_on.data or ""
        if typed.strip():
            day = parse_day(typed, today=today, field="stick_on", ahead=True)
        else:
            found = _middle_of(self.month.data or "", today=today)
            if found is None:
                return None
            day = found
        if day < today:
            raise NotAccepted.at("stick_on", "This day is gone: give one from today on.")
        if due_on is not None and day >= due_on:
            field = "stick_on" if typed.strip() else "month"
            raise NotAccepted.at(field, "This is not before the day they are wanted by.")
        return day


class PlanQuestionForm(WhatIfForm):
    """A question without an order: how many, of what, by when."""

    plant = StringField("Plant, or a genus", render_kw={"autocapitalize": "off"})
    plants = StringField("How many")
    due_on = StringField("By when", description='A day such as "14 may", or "week 20".')

    def read_wanted(self, reading: Reading, *, today: date) -> tuple[int | None, date | None]:
        """Return how many are wanted by when; what cannot be read is kept in `reading`."""
        plants = reading.of(lambda: read_plants(self.plants.data or ""))
        due_on = reading.of(
            lambda: parse_day_or_week(self.due_on.data or "", today=today, field="due_on")
        )
        if due_on is not None and due_on <= today:
            reading.of(_gone)
        return plants, due_on


def _gone() -> None:
    raise NotAccepted.at("due_on", "This day is not to come any more: give a day after today.")


def _middle_of(month: str, *, today: date) -> date | None:
    """Return the middle of the next such month from today on, today if that is past in it."""
    if not month:
        return None
    if not (month.isdecimal() and 1 <= int(month) <= len(MONTHS)):
        raise NotAccepted.at("month", "Choose one from the list.")
    number = int(month)
    if number == today.month:
        return max(today, today.replace(day=_MIDDLE_OF_MONTH))
    year = today.year + (number < today.month)
    return date(year, number, _MIDDLE_OF_MONTH)
