"""The forms of a method card: what it says, and for a new one what it is for."""

from collections.abc import Callable, Mapping
from dataclasses import asdict
from typing import Any, Final

from wtforms import (
    Field,
    FieldList,
    Form,
    FormField,
    RadioField,
    SelectField,
    StringField,
    TextAreaField,
)
from wtforms.fields.choices import SelectChoice

from app.domain.batches import USUAL_COVERS
from app.domain.card_months import months_text, parse_months, turned
from app.domain.card_steps import MOST_STEPS, MOST_TROUBLES, CardStep, CardTrouble
from app.domain.cutting_types import Cut, CuttingType, Section
from app.domain.hormones import HIGHEST_PPM
from app.domain.measures import parse_span, span_words
from app.domain.method_cards import (
    MOST_LEAVES,
    MOST_LENGTH_CM,
    MOST_WEEKS,
    WARMEST_C,
    CardEntry,
    CardValues,
)
from app.domain.nursery import Hemisphere
from app.domain.problems import NotAccepted, Problem
from app.web.forms.base import VersionedForm

BLANK_LINES: Final = 2
_TEXTS: Final = (
    "material", "hormone_substance", "hormone_form", "cover", "mix", "container", "light",
    "aftercare", "checks", "notes",
)  # fmt: skip
_ANY = SelectChoice(value="", label="not said")


class StepForm(Form):
    """One step with its reason; part of the form of a card."""

    step = TextAreaField("What is done")
    reason = TextAreaField("Why")


class TroubleForm(Form):
    """One thing that goes wrong; part of the form of a card."""

    what = StringField("What goes wrong")
    signs = TextAreaField("How it shows")
    do = TextAreaField("What to do")


class MethodCardForm(VersionedForm):
    """What a card says, as typed; a blank says nothing."""

    months = StringField("Months", description='Such as "8-10", "aug to oct" or "11-2".')
    material = StringField("From what", description="Which shoots, or what else, of which plants.")
    cut = SelectField(
        "Cut", choices=[_ANY, *(SelectChoice(value=one.value) for one in Cut)], default=""
    )
    section = SelectField(
        "Part of the shoot",
        choices=[_ANY, *(SelectChoice(value=one.value) for one in Section)],
        default="",
    )
    length = StringField("Length, cm", description='One number or a span, such as "10 to 15".')
    leaves = StringField("Leaves left", description="One number or a span.")
    hormone_substance = StringField(
        "Hormone", description='Such as "IBA" or "K-IBA"; "none" for no hormone.'
    )
    hormone_form = StringField("Its form", description='Such as "talc" or "quick dip".')
    hormone_ppm = StringField(
        "Strength, ppm", description="With a span from 0, none may do as well."
    )
    cover = StringField("Cover", description=f"Such as {', '.join(USUAL_COVERS)}.")
    bottom_heat = StringField("Bottom heat, °C", description="One number or a span.")
    weeks = StringField(
        "Weeks to root",
        description="The first count of a new batch falls due at the lower number.",
    )
    mix = StringField(
        "Mix", description="A name in the list fills new batches; other words stand on the card."
    )
    container = StringField(
        "Container",
        description="A name in the list fills new batches; other words stand on the card.",
    )
    light = StringField("Light")
    aftercare = TextAreaField("Aftercare")
    checks = TextAreaField(
        "Checks", description="What to look at, how often. Dates are set by the check plan."
    )
    steps = FieldList(FormField(StepForm), label="Steps")
    troubles = FieldList(FormField(TroubleForm), label="What usually goes wrong")
    notes = TextAreaField("Notes")

    def values(self, *, hemisphere: Hemisphere) -> CardValues:
        """Return what was typed, months turned from this half of the globe to the northern one.

        Raises:
            NotAccepted: months or numbers cannot be read.
        """
        problems: list[Problem] = []
        months = _read(problems, lambda: parse_months(self.months.data or "")) or frozenset()
        length = self._span(self.length, MOST_LENGTH_CM, "cm", problems)
        leaves = self._span(self.leaves, MOST_LEAVES, "", problems)
        ppm = self._span(self.hormone_ppm, HIGHEST_PPM, "ppm", problems)
        heat = self._span(self.bottom_heat, WARMEST_C, "°C", problems)
        weeks = self._span(self.weeks, MOST_WEEKS, "weeks", problems)
        if problems:
            raise NotAccepted(tuple(problems))
        return CardValues(
            months=turned(months, hemisphere=hemisphere),
            cut=Cut(self.cut.data) if self.cut.data else None,
            section=Section(self.section.data) if self.section.data else None,
            length_cm_low=length[0],
            length_cm_high=length[1],
            leaves_low=_whole(leaves[0]),
            leaves_high=_whole(leaves[1]),
            hormone_ppm_low=_whole(ppm[0]),
            hormone_ppm_high=_whole(ppm[1]),
            weeks_low=weeks[0],
            weeks_high=weeks[1],
            bottom_heat_c_low=heat[0],
            bottom_heat_c_high=heat[1],
            steps=tuple(CardStep(**_texts(line)) for line in self.steps.data),
            troubles=tuple(CardTrouble(**_texts(line)) for line in self.troubles.data),
            **{name: self[name].data or "" for name in _TEXTS},
        )

    @staticmethod
    def _span(
        field: Field, most: float, unit: str, problems: list[Problem]
    ) -> tuple[float | None, float | None]:
        read = _read(
            problems,
            lambda: parse_span(
                field.data or "", field=field.short_name, low=0, high=most, unit=unit
            ),
        )
        return read or (None, None)


class NewMethodCardForm(MethodCardForm):
    """A card for a genus, or for one species of it, and a cutting type."""

    genus = StringField("Genus", description='Such as "Cistus".')
    species = StringField(
        "Species",
        description="Blank for the whole genus. A card for one species speaks for no other.",
    )
    plant = StringField(
        "Or one plant name",
        description=(
            "In full, as it is in the log, for a card that speaks for that name alone. Leave genus "
            "and species blank then."
        ),
    )
    cutting_type = RadioField(
        "Cutting type",
        choices=[SelectChoice(value=one.value) for one in CuttingType],
        validate_choice=False,
    )

    def entry(self, *, hemisphere: Hemisphere) -> CardEntry:
        """Return the card that was typed.

        Raises:
            NotAccepted: no cutting type is chosen, or months or numbers cannot be read.
        """
        values = self.values(hemisphere=hemisphere)
        if self.cutting_type.data not in set(CuttingType):
            raise NotAccepted.at("cutting_type", "Choose the cutting type this card is for.")
        return CardEntry(
            genus=self.genus.data or "",
            species=self.species.data or "",
            plant=self.plant.data or "",
            cutting_type=CuttingType(self.cutting_type.data),
            values=values,
        )


def typed_values(values: CardValues, *, hemisphere: Hemisphere) -> dict[str, object]:
    """Return what a card says as it is typed, months as this half of the globe counts them."""
    return {
        "months": months_text(turned(values.months, hemisphere=hemisphere)),
        "cut": values.cut.value if values.cut else "",
        "section": values.section.value if values.section else "",
        "length": span_words(low=values.length_cm_low, high=values.length_cm_high),
        "leaves": span_words(low=values.leaves_low, high=values.leaves_high),
        "hormone_substance": values.hormone_substance,
        "hormone_form": values.hormone_form,
        "hormone_ppm": span_words(low=values.hormone_ppm_low, high=values.hormone_ppm_high),
        "cover": values.cover,
        "bottom_heat": span_words(low=values.bottom_heat_c_low, high=values.bottom_heat_c_high),
        "weeks": span_words(low=values.weeks_low, high=values.weeks_high),
        "mix": values.mix,
        "container": values.container,
        "material": values.material,
        "light": values.light,
        "aftercare": values.aftercare,
        "checks": values.checks,
        "steps": [asdict(step) for step in values.steps],
        "troubles": [asdict(trouble) for trouble in values.troubles],
        "notes": values.notes,
    }


def add_lines(form: MethodCardForm) -> None:
    """Give the form blank lines for more steps and more that goes wrong, as far as a card holds."""
    for lines, most in ((form.steps, MOST_STEPS), (form.troubles, MOST_TROUBLES)):
        blank = sum(1 for line in lines.data if not any(_texts(line).values()))
        while blank < BLANK_LINES and len(lines) < most:
            lines.append_entry()
            blank += 1


def _texts(line: Mapping[str, str | None]) -> dict[str, str]:
    return {name: text or "" for name, text in line.items()}


def _read(problems: list[Problem], read: Callable[[], Any]) -> Any:
    """Return what is read, or note why not and return None."""
    try:
        return read()
    except NotAccepted as refused:
        problems.extend(refused.problems)
        return None


def _whole(number: float | None) -> int | None:
    return None if number is None else round(number)
