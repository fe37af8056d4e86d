"""The forms of a mix lot: making one up or correcting it, and litres a batch used of it."""

from datetime import date
from typing import Any, Final

from wtforms import (
    FieldList,
    Form,
    FormField,
    SelectChoice,
    SelectField,
    StringField,
    TextAreaField,
)

from app.domain.days import parse_day
from app.domain.measures import parse_measure
from app.domain.mix_lots import (
    EXTRACTIONS,
    HIGHEST_EC,
    HIGHEST_PH,
    LotIngredient,
    MixLotEntry,
    parse_amount,
)
from app.domain.mixes import MOST_LITRES
from app.domain.porosities import LARGEST_ML
from app.domain.problems import NotAccepted
from app.store.queries.batch_choices import Choice
from app.web.form_reading import Reading
from app.web.forms.base import PostForm, VersionedForm

MOST_LINES: Final = 30
_RANGES: Final = {
    "asked_l": (MOST_LITRES, "litres"),
    "litres": (MOST_LITRES, "litres"),
    "medium_ec": (HIGHEST_EC, ""),
    "medium_ph": (HIGHEST_PH, ""),
    "water_ec": (HIGHEST_EC, ""),
    "water_ph": (HIGHEST_PH, ""),
    "container_ml": (LARGEST_ML, "ml"),
    "saturation_ml": (LARGEST_ML, "ml"),
    "drained_ml": (LARGEST_ML, "ml"),
}


class LotLineForm(Form):
    """What went in of one ingredient; a line left blank counts as none."""

    ingredient = StringField("Ingredient")
    supplier_lot = StringField("Supplier's lot", description="As on the bag or delivery note.")
    amount = StringField("Litres", description='"300", or "6 bags of 50".')


class MixLotForm(VersionedForm):
    """A mix lot as typed."""

    made_on = StringField("Made up on", description='"24/11", "24 nov", "-3" or "t" for today.')
    made_by = SelectField("Made up by", choices=[], validate_choice=False)
    asked_l = StringField("Litres wanted")
    ingredients = FieldList(FormField(LotLineForm), min_entries=1, max_entries=MOST_LINES)
    litres = StringField(
        "Litres that came out", description="Measured after mixing: it gives the shrinkage."
    )
    extraction = SelectField(
        "How the medium was extracted",
        choices=[SelectChoice("", "not measured"), *(SelectChoice(one) for one in EXTRACTIONS)],
        validate_choice=False,
    )
    medium_ec = StringField("EC of the medium, mS/cm", description="At 25 °C, of the extract.")
    medium_ph = StringField("pH of the medium")
    water_ec = StringField("EC of the water, mS/cm", description="At 25 °C.")
    water_ph = StringField("pH of the water")
    container = StringField("Container for the porosity", description="Such as 9 cm pot.")
    container_ml = StringField("Its volume, mL", description="Filled level, the holes taped.")
    saturation_ml = StringField(
        "Water to saturate, mL", description="Until it stands level with the top."
    )
    drained_ml = StringField("Water drained, mL", description="Once the holes are open.")
    notes = TextAreaField("Notes")

    def offer(self, *, people: tuple[Choice, ...]) -> None:
        """Give the form its people."""
        self.made_by.choices = [
            SelectChoice("", "not recorded"),
            *(SelectChoice(str(person.id), person.name) for person in people),
        ]

    def entry(self, *, mix_version_id: int, today: date) -> MixLotEntry:
        """Return what was typed.

        Raises:
            NotAccepted: for everything that cannot be read, by its field.
        """
        reading = Reading()
        made_on = reading.of(
            lambda: parse_day(self.made_on.data or "", today=today, field="made_on")
        )
        numbers = {name: self._number(reading, name) for name in _RANGES}
        lines = self._lines(reading)
        if made_on is None or reading.failed:
            raise reading.refusal()
        return MixLotEntry(
            mix_version_id=mix_version_id,
            made_on=made_on,
            made_by_id=int(self.made_by.data) if (self.made_by.data or "").isdecimal() else None,
            ingredients=lines,
            extraction=self.extraction.data or "",
            container=self.container.data or "",
            notes=self.notes.data or "",
            **numbers,
        )

    def _number(self, reading: Reading, name: str) -> Any:
        high, unit = _RANGES[name]
        typed = self[name].data or ""
        return reading.of(lambda: parse_measure(typed, field=name, low=0, high=high, unit=unit))

    def _lines(self, reading: Reading) -> tuple[LotIngredient, ...]:
        found: list[LotIngredient] = []
        for place, line in enumerate(self.ingredients):
            texts = [(line.form[name].data or "").strip() for name in _LINE]
            if not any(texts):
                continue
            field = f"ingredients-{place}-amount"
            amount = reading.of(
                lambda typed=texts[2], field=field: parse_amount(typed, field=field)  # type: ignore[misc]
            )
            if not texts[0]:
                reading.of(lambda at=place: _refuse_unnamed(at))  # type: ignore[misc]
            litres, bags, bag_l = amount or (None, None, None)
            found.append(
                LotIngredient(
                    ingredient=texts[0],
                    supplier_lot=texts[1],
                    litres=litres,
                    bags=bags,
                    bag_l=bag_l,
                )
            )
        return tuple(found)


class LitresUsedForm(PostForm):
    """How many litres a batch used of its lot."""

    litres = StringField(
        "Litres used", description="Blank goes back to what its containers hold together."
    )

    def number(self) -> float | None:
        """Return the litres typed, None for a blank.

        Raises:
            NotAccepted: it is no number.
        """
        return parse_measure(
            self.litres.data or "", field="litres", low=0, high=100_000, unit="litres"
        )


_LINE: Final = ("ingredient", "supplier_lot", "amount")


def _refuse_unnamed(place: int) -> None:
    raise NotAccepted.at(f"ingredients-{place}-ingredient", "Name the ingredient.")
