"""The forms of checks: a new one, a correction, taking one out, walking a bench."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from markupsafe import Markup
from wtforms import (
    BooleanField,
    FieldList,
    Form,
    FormField,
    HiddenField,
    RadioField,
    SelectChoice,
    SelectField,
    SelectMultipleField,
    StringField,
    SubmitField,
    TextAreaField,
)
from wtforms.widgets import CheckboxInput, ListWidget

from app.domain.check_entries import COLDEST_C, HOTTEST_C, CheckEntry
from app.domain.cutting_types import CuttingType
from app.domain.days import day_long, parse_day
from app.domain.measures import parse_measure
from app.domain.outcomes import CheckKind, Ending, Loss
from app.domain.problems import NotAccepted, Problem
from app.domain.quantities import parse_optional_quantity
from app.domain.rooted_signs import RootedSign
from app.domain.typed_counts import RootedAs
from app.domain.way_words import told_for
from app.store.queries.checks import StoredCheck
from app.store.queries.lost_causes import KnownCause
from app.store.queries.people import PersonName
from app.web.forms.base import PostForm, VersionedForm

SPARE_LINES: Final = 2
MOST_LINES: Final = 40
KINDS: Final = (
    SelectChoice(CheckKind.COUNTED.value, "counted"),
    SelectChoice(CheckKind.SAMPLE.value, "a sample"),
    SelectChoice(CheckKind.LOOKED_ONLY.value, "looked only"),
)
ROOTED_AS: Final = (
    SelectChoice(RootedAs.NEW.value, "newly rooted"),
    SelectChoice(RootedAs.SO_FAR.value, "all rooted so far"),
    SelectChoice(RootedAs.LEFT.value, "what is left unrooted"),
)
SIGNS: Final = (
    SelectChoice("", "not recorded"),
    *(SelectChoice(sign.value) for sign in RootedSign),
)
ENDINGS: Final = (
    SelectChoice(Ending.NONE.value, "It stays"),
    SelectChoice(Ending.DUMPED.value, "Dumped: the rest failed and is thrown out"),
    SelectChoice(
        Ending.CLEARED_UNROOTED.value,
        "Cleared unrooted: taken away for another reason, neither rooted nor failed",
    ),
)


_MEASURES: Final = {
    "medium_c": (COLDEST_C, HOTTEST_C, "°C"),
    "humidity_percent": (0, 100, "%"),
}


class LossForm(Form):
    """One line of what was lost: how many, to which cause."""

    number = StringField("Newly lost")
    cause = SelectField("to", validate_choice=False)


class CheckForm(VersionedForm):
    """A check as it is typed; `reason` is asked for where a stored one is corrected."""

    checked_on = StringField("Day", default="today", description='Such as "24/11" or "-1".')
    kind = RadioField("This check was", choices=KINDS, default=CheckKind.COUNTED.value)
    rooted = StringField("Rooted")
    typed_as = RadioField("The number is", choices=ROOTED_AS, default=RootedAs.NEW.value)
    lost = FieldList(FormField(LossForm), min_entries=SPARE_LINES, max_entries=MOST_LINES)
    looked = StringField("Looked at, for a sample")
    callused = StringField("Callused")
    plantlets = StringField("Plantlets")
    unrooted_counted = StringField("Unrooted, as counted")
    missing = HiddenField()
    missing_confirmed = BooleanField("They are missing: log them as lost, cause missing")
    ending = RadioField("The rest of the batch", choices=ENDINGS, default=Ending.NONE.value)
    ending_cause = StringField("Why it was cleared")
    restuck_into = StringField("Re-stuck into batch")
    rooted_means = SelectField("Counted as rooted", choices=SIGNS)
    medium_c = StringField("Medium, °C")
    humidity_percent = StringField("Humidity, %")
    checked_by = SelectField("Checked by", coerce=int, validate_choice=False)
    note = TextAreaField("Note")
    reason = StringField("Why it is corrected", description="Such as: one tray counted twice.")
    only_looked = SubmitField("All well, only looked")

    def offer(
        self, *, causes: Sequence[KnownCause], people: Sequence[PersonName], checker: int | None
    ) -> None:
        """Give the lists their choices and leave spare lines for losses.

        Causes named already stay in the list, and so does who checked.
        """
        names = [cause.name for cause in causes]
        named = [entry.form.cause.data for entry in self.lost if entry.form.cause.data]
        names += [name for name in dict.fromkeys(named) if name not in names]
        filled = sum(1 for entry in self.lost if (entry.form.number.data or "").strip())
        while len(self.lost) < min(filled + SPARE_LINES, MOST_LINES):
            self.lost.append_entry()
        for place, entry in enumerate(self.lost, start=1):
            entry.form.cause.choices = [
                SelectChoice("", "choose a cause"),
                *(SelectChoice(name) for name in names),
            ]
            line = Markup('<span class="unseen">, line {}</span>').format(place)
            entry.form.number.label.text = Markup("Newly lost") + line
            entry.form.cause.label.text = Markup("to") + line
        self.checked_by.choices = [SelectChoice(person.id, person.name) for person in people]
        if checker and self.checked_by.data is None:
            self.checked_by.data = checker

    def speak_of(self, cutting_type: CuttingType | None) -> None:
        """Say labels and choices in the words of a batch's way."""
        for field in (self.rooted, self.unrooted_counted, self.rooted_means):
            field.label.text = told_for(field.label.text, cutting_type=cutting_type)
        for listed in (self.typed_as, self.ending):
            listed.choices = [
                SelectChoice(choice.value, told_for(choice.label, cutting_type=cutting_type))
                for choice in listed.choices
            ]

    def more_lines(self) -> None:
        """Add two more lines for losses."""
        for _ in range(min(SPARE_LINES, MOST_LINES - len(self.lost))):
            self.lost.append_entry()

    def ask_about(self, missing: int) -> None:
        """Let the next saving confirm that so many are missing."""
        self.missing.data = str(missing)
        self.missing_confirmed.data = False

    @property
    def asked_missing(self) -> int | None:
        """How many the form asks about as missing, None where it does not ask."""
        typed = self.missing.data or ""
        return int(typed) if typed.isdigit() else None

    def entry(self, *, today: date, restuck_into_id: int | None) -> CheckEntry:
        """Return what was typed.

        Raises:
            NotAccepted: for every field that cannot be read, each beside its field.
        """
        reading = _Reading(problems=[])
        kind = CheckKind.LOOKED_ONLY if self.only_looked.data else CheckKind(self.kind.data)
        rooted = self._rooted(kind, reading)
        entry = CheckEntry(
            checked_on=reading.day(self.checked_on.data, today=today),
            kind=kind,
            rooted=rooted or 0,
            typed_as=RootedAs(self.typed_as.data) if rooted is not None else RootedAs.NEW,
            lost=self._losses(reading),
            callused=reading.number(self.callused.data, "callused"),
            looked=reading.number(self.looked.data, "looked"),
            plantlets=reading.number(self.plantlets.data, "plantlets"),
            unrooted_counted=reading.number(self.unrooted_counted.data, "unrooted_counted"),
            missing_confirmed=self.asked_missing if self.missing_confirmed.data else None,
            ending=Ending(self.ending.data),
            ending_cause=self.ending_cause.data or "",
            rooted_means=self.rooted_means.data or "",
            medium_c=reading.measure(self.medium_c.data, "medium_c"),
            humidity_percent=reading.measure(self.humidity_percent.data, "humidity_percent"),
            note=self.note.data or "",
            checked_by_id=self.checked_by.data or None,
            restuck_into_id=restuck_into_id,
        )
        reading.finish()
        return entry

    def _rooted(self, kind: CheckKind, reading: "_Reading") -> int | None:
        rooted = reading.number(self.rooted.data, "rooted")
        if self.only_looked.data and rooted is not None:
            said = "Save the count, or clear the numbers to log only a look."
            reading.refuse("rooted", said)
        elif not (self.rooted.data or "").strip() and kind is not CheckKind.LOOKED_ONLY:
            said = (
                "Type how many have rooted, 0 if none. Choose looked only if nothing was counted."
            )
            reading.refuse("rooted", said)
        return rooted

    def _losses(self, reading: "_Reading") -> tuple[Loss, ...]:
        losses = []
        for place, entry in enumerate(self.lost):
            number = reading.number(entry.form.number.data, f"lost-{place}-number")
            cause = entry.form.cause.data or ""
            if number and not cause:
                said = "Choose what they were lost to; not known is in the list."
                reading.refuse(f"lost-{place}-cause", said)
            elif number:
                losses.append(Loss(cause=cause, number=number))
        return tuple(losses)


class WithdrawForm(VersionedForm):
    """Taking a check out of the counts."""

    reason = StringField("Why it is withdrawn", description="Such as: it was another batch.")


class WalkForm(PostForm):
    """Walking a bench: the day, and the batches that were not all well."""

    walked_on = StringField("Day", default="today", description='Such as "24/11" or "-1".')
    excepted = SelectMultipleField(
        "Not well, or not looked at",
        coerce=int,
        validate_choice=False,
        widget=ListWidget(prefix_label=False),
        option_widget=CheckboxInput(),
    )

    def day(self, *, today: date) -> date:
        """Return the day typed.

        Raises:
            NotAccepted: it is none.
        """
        return parse_day(self.walked_on.data or "", today=today, field="walked_on")


@dataclass(frozen=True, kw_only=True)
class _Reading:
    """Reads typed numbers and collects what is wrong with them."""

    problems: list[Problem]

    def refuse(self, field: str, sentence: str) -> None:
        self.problems.append(Problem(field=field, sentence=sentence))

    def number(self, typed: str | None, field: str) -> int | None:
        try:
            quantity = parse_optional_quantity(typed or "", field=field)
        except NotAccepted as refusal:
            self.problems.extend(refusal.problems)
            return None
        return quantity.number if quantity else None

    def day(self, typed: str | None, *, today: date) -> date:
        try:
            return parse_day(typed or "", today=today, field="checked_on")
        except NotAccepted as refusal:
            self.problems.extend(refusal.problems)
            return today

    def measure(self, typed: str | None, field: str) -> float | None:
        low, high, unit = _MEASURES[field]
        try:
            return parse_measure(typed or "", field=field, low=low, high=high, unit=unit)
        except NotAccepted as refusal:
            self.problems.extend(refusal.problems)
            return None

    def finish(self) -> None:
        if self.problems:
            raise NotAccepted(tuple(self.problems))


def typed_again(stored: StoredCheck, *, ending_cause: str) -> dict[str, Any]:
    """Return what the form holds when a stored check is to be corrected."""
    counts = stored.counts
    return {
        "checked_on": day_long(counts.checked_on),
        "kind": counts.kind.value,
        "rooted": "" if counts.kind is CheckKind.LOOKED_ONLY else str(counts.rooted),
        "typed_as": RootedAs.NEW.value,
        "lost": [{"number": str(loss.number), "cause": loss.cause} for loss in counts.lost],
        "looked": _text(counts.looked),
        "callused": _text(counts.callused),
        "plantlets": _text(stored.plantlets),
        "unrooted_counted": _text(stored.unrooted_counted),
        "ending": counts.ending.value,
        "ending_cause": ending_cause if counts.ending else "",
        "restuck_into": stored.restuck_into,
        "rooted_means": stored.rooted_means,
        "medium_c": _text(stored.medium_c),
        "humidity_percent": _text(stored.humidity_percent),
        "checked_by": stored.checked_by_id,
        "note": stored.note,
        "version": stored.version,
    }


def numbered_losses(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """Return the problems with those of all losses set beside their first line."""
    return tuple(
        Problem(field="lost-0-number", sentence=problem.sentence)
        if problem.field == "lost"
        else problem
        for problem in problems
    )


def _text(value: float | None) -> str:
    return "" if value is None else f"{value:g}"
