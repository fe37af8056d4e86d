"""The box in which a plant's name is typed, and the form of a plant name."""

from datetime import date

from wtforms import StringField, TextAreaField

from app.domain.days import parse_optional_day
from app.domain.plant_name_entries import PlantNameEntry
from app.domain.plant_names import (
    CONFIRM,
    NamePart,
    NameStatus,
    ParsedName,
    accept_plant_name,
    parse_plant_name,
)
from app.domain.problems import NotAccepted
from app.web.form_reading import Reading
from app.web.forms.base import VersionedForm


class PlantBox:
    """The one box for a name; `as_typed` is the tick, which carries the name it was asked about."""

    plant = StringField(
        "Plant name",
        description="As on the label, such as Lavandula × intermedia 'Grosso'. The letter x may "
        "stand for the sign.",
        render_kw={"autocapitalize": "off", "spellcheck": "false"},
    )
    as_typed = StringField("Yes, as typed")

    @property
    def asked(self) -> str:
        """The name that is asked about, "" where no question is open."""
        parsed = self._parsed()
        if parsed is None or parsed.status is not NameStatus.WARN:
            return ""
        refused = any(CONFIRM in str(sentence) for sentence in self.plant.errors)
        return parsed.normalised if refused or self.is_confirmed else ""

    @property
    def is_confirmed(self) -> bool:
        """Whether the tick stands by the name as it is typed now."""
        parsed = self._parsed()
        return parsed is not None and self.as_typed.data == parsed.normalised

    @property
    def parts(self) -> tuple[NamePart, ...]:
        """The parts of the name as typed; none where it could not be read."""
        parsed = self._parsed()
        return parsed.name.parts if parsed is not None else ()

    def _parsed(self) -> ParsedName | None:
        try:
            return parse_plant_name(self.plant.data or "")
        except NotAccepted:
            return None


class PlantNameForm(PlantBox, VersionedForm):
    """A plant name with what stands beside it."""

    trade_designation = StringField(
        "Selling name",
        description="The name it is sold under, if that is another: no part of the plant name.",
    )
    common_name = StringField("Common name")
    family = StringField(
        "Family", description="Such as Lamiaceae. It goes for every name of this genus."
    )
    rights_grant = StringField(
        "Grant number of its protection", description="Blank if the variety is not protected."
    )
    rights_licence = StringField("Number of our licence to propagate it")
    rights_until = StringField(
        "Protected until", description="The last day; blank if it is not known."
    )
    notes = TextAreaField("Notes")

    def entry(self, *, today: date) -> PlantNameEntry:
        """Return what was typed.

        Raises:
            NotAccepted: the name is refused or asks something, or the day cannot be read.
        """
        reading = Reading()
        name = reading.of(
            lambda: accept_plant_name(self.plant.data or "", confirmed=self.as_typed.data or "")
        )
        until = reading.of(
            lambda: parse_optional_day(
                self.rights_until.data or "", today=today, field="rights_until", ahead=True
            )
        )
        if name is None or reading.failed:
            raise reading.refusal()
        return PlantNameEntry(
            name=name,
            trade_designation=self.trade_designation.data or "",
            common_name=self.common_name.data or "",
            family=self.family.data or "",
            rights_grant=self.rights_grant.data or "",
            rights_licence=self.rights_licence.data or "",
            rights_until=until,
            notes=self.notes.data or "",
        )
