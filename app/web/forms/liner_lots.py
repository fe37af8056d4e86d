"""The forms of liners: a stage, which lots to merge, a lot's trays, where it stands, why not."""

from datetime import date

from wtforms import SelectChoice, SelectField, SelectMultipleField, StringField, TextAreaField
from wtforms.widgets import CheckboxInput, ListWidget

from app.domain.days import parse_day
from app.domain.liner_entries import MOST_LITRES, MOST_TRAYS, StageEntry
from app.domain.liner_stages import Stage
from app.domain.measures import parse_measure
from app.domain.quantities import parse_optional_quantity
from app.store.queries.batch_choices import BatchChoices, Choice
from app.store.queries.liner_lots import KnownLot
from app.store.queries.lost_causes import KnownCause
from app.web.form_reading import Reading
from app.web.forms.base import PostForm, VersionedForm

_DAY = '"24/11", "24 nov", "-3" or "t" for today.'


class StageForm(PostForm):
    """A stage of a batch or lot as typed; a page shows only what belongs to its stage."""

    number = StringField("How many")
    on = StringField("On", description=_DAY)
    cause = SelectField("Lost to", choices=[], validate_choice=False)
    grade = StringField("Why, or graded as", description="Such as too small, or second size.")
    container = SelectField("Into what", choices=[], validate_choice=False)
    mix_lot = SelectField("From which mix lot", choices=[], validate_choice=False)
    litres = StringField(
        "Litres of it used", description="Blank goes by what the pots or plugs hold."
    )
    bench = SelectField("They stand on", choices=[], validate_choice=False)
    trays = StringField("In so many trays", description="For the room on the bench, if counted.")
    by = SelectField("By", choices=[], validate_choice=False)
    notes = TextAreaField("Note")
    lots = SelectMultipleField(
        "Lots that become one with it",
        choices=[],
        validate_choice=False,
        widget=ListWidget(prefix_label=False),
        option_widget=CheckboxInput(),
    )
    reason = StringField("Why it is corrected", description="Such as miscounted a tray.")

    def offer(
        self,
        *,
        choices: BatchChoices,
        causes: tuple[KnownCause, ...],
        lots: tuple[KnownLot, ...] = (),
    ) -> None:
        """Give the form what can be chosen."""
        self.cause.choices = [
            SelectChoice("", "choose the cause"),
            *(SelectChoice(str(cause.id), cause.name) for cause in causes),
        ]
        self.container.choices = _choices("not recorded", choices.containers)
        self.mix_lot.choices = [
            SelectChoice("", "not recorded"),
            *(SelectChoice(str(lot.id), f"{lot.code}, {lot.words}") for lot in choices.mix_lots),
        ]
        self.bench.choices = _choices("no bench", choices.benches)
        self.by.choices = _choices("not recorded", choices.people)
        self.lots.choices = [
            SelectChoice(str(lot.id), f"{lot.code}, {lot.standing.number:,} plants") for lot in lots
        ]

    def offer_also(self, name: str, *, key: int, label: str) -> None:
        """Offer one more thing to choose in the field `name`, if it is not offered."""
        field = self[name]
        if str(key) not in {choice.value for choice in field.choices}:
            field.choices = [*field.choices, SelectChoice(str(key), label)]

    def entry(self, stage: Stage, *, today: date) -> StageEntry:
        """Return what was typed.

        Raises:
            NotAccepted: for everything that cannot be read, by its field.
        """
        reading = Reading()
        on = reading.of(lambda: parse_day(self.on.data or "", today=today, field="on"))
        number = reading.of(
            lambda: parse_optional_quantity(self.number.data or "", field="number", least=1)
        )
        trays = reading.whole(self.trays.data, field="trays", low=1, high=MOST_TRAYS)
        litres = reading.of(
            lambda: parse_measure(
                self.litres.data or "", field="litres", low=0, high=MOST_LITRES, unit="litres"
            )
        )
        if on is None or reading.failed:
            raise reading.refusal()
        return StageEntry(
            stage=stage,
            on=on,
            number=number.number if number else None,
            container_id=_id(self.container.data),
            mix_lot_id=_id(self.mix_lot.data),
            litres=litres,
            cause_id=_id(self.cause.data),
            grade=self.grade.data or "",
            bench_id=_id(self.bench.data),
            trays=trays,
            person_id=_id(self.by.data),
            notes=self.notes.data or "",
        )

    def lot_ids(self) -> tuple[int, ...]:
        """Return the ids of the lots ticked."""
        return tuple(one for one in map(_id, self.lots.data or ()) if one is not None)


class StageWithdrawForm(PostForm):
    """Why a stage is withdrawn."""

    reason = StringField("Why", description="Such as entered for the wrong lot.")


class LinerLotForm(VersionedForm):
    """What is said of a lot itself."""

    trays = StringField("Trays it stands in", description="Blank if nobody counted.")
    notes = TextAreaField("Notes")

    def tray_count(self) -> int | None:
        """Return the trays typed, None for a blank.

        Raises:
            NotAccepted: it is no whole number of trays.
        """
        reading = Reading()
        trays = reading.whole(self.trays.data, field="trays", low=1, high=MOST_TRAYS)
        if reading.failed:
            raise reading.refusal()
        return trays


def _choices(nothing: str, choices: tuple[Choice, ...]) -> list[SelectChoice]:
    offered = (SelectChoice(str(choice.id), choice.name) for choice in choices)
    return [SelectChoice("", nothing), *offered]


def _id(typed: str | None) -> int | None:
    return int(typed) if typed and typed.isascii() and typed.isdecimal() else None
