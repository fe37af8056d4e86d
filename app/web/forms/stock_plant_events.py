"""The forms of what happens to a stock plant: writing it down, withdrawing a wrong entry."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Final

from wtforms import RadioField, SelectChoice, SelectField, StringField, TextAreaField

from app.domain.days import parse_day, parse_optional_day
from app.domain.problems import NotAccepted
from app.domain.stock_plant_events import AHEAD, JUDGED, EventEntry, EventKind, Result
from app.domain.stock_plants import MOST_PLANTS
from app.store.queries.batch_choices import Choice
from app.web.form_reading import Reading
from app.web.forms.base import PostForm


@dataclass(frozen=True, kw_only=True)
class EventWords:
    """How the form and the list of one kind speak.

    `heading` begins the page's heading, `done` names the entry in the list. `ahead` is the label
    of the day to look ahead to, `results` what each result is called.
    """

    heading: str
    done: str
    finding: str = ""
    ahead: str = ""
    ahead_hint: str = ""
    results: Mapping[Result, str] = field(default_factory=dict)

    def came_to(self, result: Result) -> str:
        """Return what a result is called in the list, without what follows from it."""
        return self.results.get(result, "").partition(":")[0]


EVENT_WORDS: Final[Mapping[EventKind, EventWords]] = {
    EventKind.INSPECTED: EventWords(
        heading="Inspect",
        done="inspected",
        finding="What was found",
        ahead="Look again by",
        ahead_hint="Today lists it when this day comes. Blank for no day.",
        results={
            Result.GOOD: "nothing found",
            Result.DOUBT: "something to watch",
            Result.BAD: "sick: on hold from now on",
        },
    ),
    EventKind.COUNTED: EventWords(heading="Number of plants of", done="number of plants"),
    EventKind.CUT_BACK: EventWords(heading="Cut back", done="cut back"),
    EventKind.RENEWED: EventWords(
        heading="Renewed or pruned hard:", done="renewed or pruned hard", ahead="Renew again by"
    ),
    EventKind.RENEWAL: EventWords(heading="When to renew", done="to be renewed", ahead="Renew by"),
    EventKind.TESTED: EventWords(
        heading="A test of",
        done="tested",
        finding="Words of the result, or its reference",
        ahead="Tested until",
        ahead_hint="The last day the test holds. Blank if it has none.",
        results={
            Result.GOOD: "clean",
            Result.DOUBT: "not clear, or no result yet",
            Result.BAD: "found: on hold from now on",
        },
    ),
    EventKind.TRUE_TO_TYPE: EventWords(
        heading="Truth to type of",
        done="looked at for truth to type",
        finding="What differs",
        results={
            Result.GOOD: "true to type",
            Result.DOUBT: "in doubt",
            Result.BAD: "not true to type: on hold from now on",
        },
    ),
}


class EventForm(PostForm):
    """What happened, as typed; each kind keeps the boxes that it needs."""

    plants = StringField("How many plants there are now")
    about = StringField("Tested for", description="Such as a virus or a rot by its name.")
    result = RadioField("What came of it", choices=[], validate_choice=False)
    finding = StringField("What was found")
    happened_on = StringField("On", default="today")
    until_on = StringField("Until")
    by = SelectField("By", choices=[], validate_choice=False)
    note = TextAreaField("Notes")

    def keep_for(self, kind: EventKind, *, people: tuple[Choice, ...]) -> None:
        """Leave the boxes of one kind, in its words."""
        words = EVENT_WORDS[kind]
        if kind is not EventKind.COUNTED:
            del self.plants
        if kind is not EventKind.TESTED:
            del self.about
        if kind in JUDGED:
            self.result.choices = [
                SelectChoice(result.value, said) for result, said in words.results.items()
            ]
            self.finding.label.text = words.finding
        else:
            del self.result
            del self.finding
        if kind in AHEAD:
            self.until_on.label.text = words.ahead
            self.until_on.description = words.ahead_hint
        else:
            del self.until_on
        if kind is EventKind.COUNTED:
            self.note.label.text = "Why it changed"
        self.by.choices = [
            SelectChoice("", "not recorded"),
            *(SelectChoice(str(person.id), person.name) for person in people),
        ]

    def entry(self, kind: EventKind, *, today: date) -> EventEntry:
        """Return what was typed.

        Raises:
            NotAccepted: for everything that cannot be read, by its field.
        """
        reading = Reading()
        happened_on = reading.of(
            lambda: parse_day(self.happened_on.data or "", today=today, field="happened_on")
        )
        plants = reading.whole(
            self._typed("plants"), field="plants", low=1, high=MOST_PLANTS, unit="plants"
        )
        result = reading.of(self._result)
        until_on = reading.of(
            lambda: parse_optional_day(
                self._typed("until_on"), today=today, field="until_on", ahead=True
            )
        )
        by_id = reading.of(self._by_id)
        if happened_on is None or result is None or reading.failed:
            raise reading.refusal()
        return EventEntry(
            kind=kind,
            happened_on=happened_on,
            by_id=by_id,
            plants=plants,
            about=self._typed("about"),
            result=result,
            finding=self._typed("finding"),
            until_on=until_on,
            note=self.note.data or "",
        )

    def _typed(self, name: str) -> str:
        """Return what a box holds, "" where this kind has no such box."""
        return (self[name].data or "") if name in self else ""

    def _result(self) -> Result:
        try:
            return Result(self._typed("result"))
        except ValueError:
            raise NotAccepted.at("result", "Choose one from the list.") from None

    def _by_id(self) -> int | None:
        chosen = self.by.data or ""
        if chosen and chosen not in {str(choice.value) for choice in self.by.choices}:
            raise NotAccepted.at("by", "Choose one from the list.")
        return int(chosen) if chosen else None


class WithdrawEventForm(PostForm):
    """Why an entry is withdrawn."""

    reason = StringField("Why", description="Such as written down for the wrong plant.")
