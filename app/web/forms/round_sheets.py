"""The forms of rounds on paper: which bench, and the lines typed in from a sheet."""

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any

from wtforms import BooleanField, SelectChoice, SelectField, StringField

from app.domain.days import parse_day
from app.domain.round_sheets import LinesEntry, TypedLine
from app.domain.typed_counts import RootedAs
from app.store.queries.benches import KnownBench
from app.store.queries.people import PersonName
from app.store.queries.round_sheets import SheetLine
from app.web.form_reading import Reading
from app.web.forms.base import PostForm
from app.web.forms.checks import ROOTED_AS


class RoundSheetForm(PostForm):
    """Which batches a new sheet holds."""

    bench = SelectField("What is late or due", choices=[], validate_choice=False)

    def offer(self, benches: Iterable[KnownBench]) -> None:
        """Give the list its choices."""
        self.bench.choices = [
            SelectChoice("", "on all benches"),
            *(SelectChoice(str(bench.id), f"on {bench.name}") for bench in benches),
        ]

    def bench_id(self) -> int | None:
        """Return the bench chosen, None for all, 0 for what is not in the list."""
        typed = self.bench.data or ""
        known = {choice.value for choice in self.bench.choices}
        if not typed:
            return None
        return int(typed) if typed in known else 0


class SheetLinesForm(PostForm):
    """What is typed in from a sheet; the fields of each line are added by `lines_form`."""

    checked_on = StringField("Day of the round", description='Such as "24/11" or "-1".')
    checked_by = SelectField("Walked by", coerce=int, validate_choice=False)
    typed_as = SelectField("The numbers are", choices=ROOTED_AS, validate_choice=False)

    def offer(self, people: Sequence[PersonName]) -> None:
        """Give the list of people its choices."""
        self.checked_by.choices = [SelectChoice(person.id, person.name) for person in people]

    def entry(self, *, today: date, positions: Iterable[int]) -> LinesEntry:
        """Return what was typed.

        Raises:
            NotAccepted: the day is none.
        """
        reading = Reading()
        day = reading.of(
            lambda: parse_day(self.checked_on.data or "", today=today, field="checked_on")
        )
        if day is None:
            raise reading.refusal()
        known = {RootedAs(choice.value) for choice in ROOTED_AS}
        typed_as = self.typed_as.data
        return LinesEntry(
            checked_on=day,
            checked_by_id=self.checked_by.data,
            typed_as=RootedAs(typed_as) if typed_as in known else RootedAs.NEW,
            lines=tuple(self._line(position) for position in positions),
        )

    def _line(self, position: int) -> TypedLine:
        def text(name: str) -> str:
            return " ".join((self[f"{name}-{position}"].data or "").split())

        return TypedLine(
            position=position,
            rooted=text("rooted"),
            lost=text("lost"),
            cause=text("cause"),
            looked=bool(self[f"looked-{position}"].data),
            again=bool(self[f"again-{position}"].data),
        )


def lines_form(lines: Iterable[SheetLine], **filled: Any) -> SheetLinesForm:
    """Return the form with five fields for each line, named by its position on the sheet."""
    fields: dict[str, Any] = {}
    for line in lines:
        for name, label in (("rooted", "rooted"), ("lost", "lost"), ("cause", "lost to")):
            fields[f"{name}-{line.position}"] = StringField(f"{line.code}, {label}")
        fields[f"looked-{line.position}"] = BooleanField(f"{line.code}, looked")
        fields[f"again-{line.position}"] = BooleanField(f"{line.code}: this is a further count")
    kind = type("FilledSheetLinesForm", (SheetLinesForm,), fields)
    form: SheetLinesForm = kind(data=filled)
    return form
