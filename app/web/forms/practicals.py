"""The forms of a practical session: planning or correcting it, putting it off, cancelling it."""

from collections.abc import Iterable
from datetime import date
from typing import Any, Final

from sqlalchemy.orm import Session
from wtforms import (
    HiddenField,
    SelectChoice,
    SelectField,
    SelectMultipleField,
    StringField,
    TextAreaField,
)

from app.domain.cutting_types import CuttingType
from app.domain.days import parse_day
from app.domain.hormones import parse_hormone
from app.domain.practicals import MOST_HEADS, MOST_PER_HEAD, MOST_PER_PLACE, PracticalEntry
from app.domain.problems import NotAccepted
from app.services.plant_names import resolve_plant
from app.store.queries.batch_choices import Choice
from app.store.queries.practical_batches import PracticalChoices
from app.web.form_reading import Reading
from app.web.forms.base import PostForm, VersionedForm

_DAY: Final = '"24/11", "+7" for in a week, "t" for today; one that is over with its year.'
_WHOLE: Final = {
    "heads": MOST_HEADS,
    "per_head": MOST_PER_HEAD,
    "per_place": MOST_PER_PLACE,
}
_LISTS: Final = {
    "taught_by": "taught_by_id",
    "container": "container_id",
    "mix": "mix_id",
    "bench": "bench_id",
}
_LINES: Final = ("steps", "tools", "cautions")


class PracticalForm(VersionedForm):
    """A practical session as typed."""

    held_on = StringField("Day", description=_DAY)
    topic = StringField("Topic", description='Such as "Semi-ripe cuttings of evergreen shrubs".')
    taught_by = SelectField("Taught by", choices=[], validate_choice=False)
    people = SelectMultipleField("Who takes part", choices=[], validate_choice=False)
    heads = StringField(
        "Prepare for so many",
        description="Blank for those ticked; one more if the teacher shows it too.",
    )
    plant = StringField("Plant", description="A name that is in the log; blank if none is stuck.")
    cutting_type = SelectField(
        "Cutting type",
        choices=[SelectChoice("", "not said"), *(SelectChoice(each.value) for each in CuttingType)],
        validate_choice=False,
    )
    per_head = StringField("Cuttings for each")
    per_place = StringField("In each plug or pot", description="Blank for one.")
    hormone = StringField("Hormone", description='Such as "IBA talc 1000 ppm", or "none".')
    container = SelectField("Container", choices=[], validate_choice=False)
    mix = SelectField("Mix", choices=[], validate_choice=False)
    bench = SelectField("Bench", choices=[], validate_choice=False)
    steps = TextAreaField("Demonstrated steps", description="In their order, one to a line.")
    tools = TextAreaField(
        "Tools", description='One to a line: "knife", "2 dibbers" each, "1 sprayer for all".'
    )
    cautions = TextAreaField(
        "Further cautions",
        description="One to a line; those of the genus and of the work stand there by themselves.",
    )
    notes = TextAreaField("Notes")
    card_version = HiddenField()

    def offer(self, choices: PracticalChoices) -> None:
        """Give the form its lists to choose from."""
        self.taught_by.choices = _options(choices.people, blank="not said")
        self.people.choices = [SelectChoice(str(each.id), each.name) for each in choices.people]
        self.container.choices = _options(choices.containers, blank="not said")
        self.mix.choices = _options(choices.mixes, blank="not said")
        self.bench.choices = _options(choices.benches, blank="not said")

    def entry(
        self, session: Session, *, card_version_id: int | None, today: date
    ) -> PracticalEntry:
        """Return what was typed.

        Raises:
            NotAccepted: for everything that cannot be read, by its field.
        """
        reading = Reading()
        held_on = reading.of(
            lambda: parse_day(self.held_on.data or "", today=today, field="held_on", ahead=True)
        )
        values: dict[str, Any] = {
            name: reading.whole(self[name].data, field=name, low=1, high=most)
            for name, most in _WHOLE.items()
        }
        for field, name in _LISTS.items():
            values[name] = reading.of(lambda field=field: self._chosen(field))  # type: ignore[misc]
        values |= {name: tuple((self[name].data or "").splitlines()) for name in _LINES}
        values["people_ids"] = reading.of(self._people) or ()
        values["cutting_type"] = reading.of(self._type)
        values["hormone"] = reading.of(lambda: parse_hormone(self.hormone.data or ""))
        values["plant_name_id"] = reading.of(lambda: self._plant(session))
        if held_on is None or reading.failed:
            raise reading.refusal()
        return PracticalEntry(
            held_on=held_on,
            topic=self.topic.data or "",
            notes=self.notes.data or "",
            method_card_version_id=card_version_id,
            **values,
        )

    def _chosen(self, field: str) -> int | None:
        chosen = self[field].data or ""
        if chosen not in {choice.value for choice in self[field].choices}:
            raise NotAccepted.at(field, "Choose one from the list.")
        return int(chosen) if chosen else None

    def _people(self) -> tuple[int, ...]:
        ticked = tuple(self.people.data or ())
        if not set(ticked) <= {choice.value for choice in self.people.choices}:
            raise NotAccepted.at("people", "Choose people from the list.")
        return tuple(int(each) for each in ticked)

    def _type(self) -> CuttingType | None:
        try:
            return CuttingType(self.cutting_type.data) if self.cutting_type.data else None
        except ValueError:
            raise NotAccepted.at("cutting_type", "Choose one from the list.") from None

    def _plant(self, session: Session) -> int | None:
        typed = (self.plant.data or "").strip()
        if not typed:
            return None
        plant = resolve_plant(session, typed=typed)
        if plant.plant_name_id is None:
            sentence = (
                f"{plant.name.plain} is not in the log yet: add it under Records, Plant names."
            )
            raise NotAccepted.at("plant", sentence)
        return plant.plant_name_id


class PutOffForm(PostForm):
    """To when a practical session is put off, and why."""

    held_on = StringField("Held instead on", description=_DAY)
    reason = StringField("Why", description="Such as snow, or the plants are too soft yet.")

    def day(self, *, today: date) -> date:
        """Return the new day.

        Raises:
            NotAccepted: it is no day.
        """
        return parse_day(self.held_on.data or "", today=today, field="held_on", ahead=True)


class CancelForm(PostForm):
    """Why a practical session does not take place."""

    reason = StringField("Why")


class CautionsReadForm(PostForm):
    """That the cautions shown were read."""

    shown = HiddenField()


class ReadAloudForm(CautionsReadForm):
    """To whom the cautions shown were read aloud."""

    people = SelectMultipleField("Who heard it", choices=[], validate_choice=False)

    def offer(self, people: Iterable[Choice]) -> None:
        """Give the form those who take part."""
        self.people.choices = [SelectChoice(str(each.id), each.name) for each in people]

    def heard(self) -> tuple[int, ...]:
        """Return the ids of those ticked.

        Raises:
            NotAccepted: somebody was ticked who is not in the list.
        """
        ticked = tuple(self.people.data or ())
        if not set(ticked) <= {choice.value for choice in self.people.choices}:
            raise NotAccepted.at("people", "Choose people from the list.")
        return tuple(int(each) for each in ticked)


def _options(choices: Iterable[Choice], *, blank: str) -> list[SelectChoice]:
    return [
        SelectChoice("", blank),
        *(SelectChoice(str(choice.id), choice.name) for choice in choices),
    ]
