"""The forms of plant passports: what they have in common, issuing one, voiding one."""

from wtforms import BooleanField, Form, RadioField, SelectChoice, SelectField, StringField

from app.domain.label_sheets import SHEETS, LabelSheet, parse_sheet
from app.domain.plant_passports import (
    MOST_LABELS,
    PassportEntry,
    PassportSettings,
    Territory,
)
from app.domain.problems import NotAccepted
from app.web.form_reading import Reading
from app.web.forms.base import PostForm, VersionedForm

_MOST_PLANTS = 10_000_000


class PassportSettingsForm(VersionedForm):
    """What passports have in common, as typed."""

    territory = RadioField(
        "Whose rules",
        choices=[
            SelectChoice(Territory.GB.value, "Great Britain"),
            SelectChoice(Territory.EU.value, "EU"),
        ],
        validate_choice=False,
    )
    operator_number = StringField(
        "Your registration number as a professional operator",
        description="As in the register. Blank: this nursery issues no passports.",
    )
    member_state = StringField(
        "Member State, two letters", description="EU only: stands before the number, such as FR."
    )
    own_title = StringField(
        "“Plant Passport” in your official language",
        description="EU only: stands before the English words with a slash; blank where it is "
        "English.",
    )

    def entry(self) -> PassportSettings:
        """Return what was typed.

        Raises:
            NotAccepted: no rules were chosen.
        """
        try:
            territory = Territory(self.territory.data or "")
        except ValueError:
            raise NotAccepted.at("territory", "Choose whose rules you issue them by.") from None
        return PassportSettings(
            territory=territory,
            operator_number=self.operator_number.data or "",
            member_state=self.member_state.data or "",
            own_title=self.own_title.data or "",
        )


class PassportForm(PostForm):
    """A passport as typed; batch and operator stand on the page."""

    plant = StringField("A. Botanical name")
    traceability_code = StringField(
        "C. Traceability code", description="The batch's code unless you say otherwise."
    )
    blank_reason = StringField("If C. is left blank: why it may be")
    origin = StringField("D. Origin", description="Two letters such as GB, or a third country.")
    northern_ireland = BooleanField("E. GB(NI): for movement into Northern Ireland")
    plants = StringField("Plants that travel under it")
    labels = StringField("Labels to print", description="One for each trade unit.")
    note = StringField("Note", description="Such as the order or the delivery note. Not printed.")

    def entry(self) -> PassportEntry:
        """Return what was typed.

        Raises:
            NotAccepted: for everything that cannot be read, by its field.
        """
        reading = Reading()
        plants = reading.whole(self.plants.data, field="plants", low=1, high=_MOST_PLANTS)
        labels = reading.whole(self.labels.data, field="labels", low=1, high=MOST_LABELS)
        if reading.failed:
            raise reading.refusal()
        return PassportEntry(
            plant=self.plant.data or "",
            traceability_code=self.traceability_code.data or "",
            blank_reason=self.blank_reason.data or "",
            origin=self.origin.data or "",
            northern_ireland=bool(self.northern_ireland.data),
            plants=plants or 0,
            labels=labels or 1,
            note=self.note.data or "",
        )


class PassportLabelsForm(Form):
    """Where the labels of a passport are printed, sent by GET."""

    sheet = SelectField(
        "Sheet or roll, mm",
        default=SHEETS[0].name,
        choices=[SelectChoice(sheet.name) for sheet in SHEETS],
        validate_choice=False,
    )
    start = StringField(
        "First free place",
        default="1",
        description="1 on a new sheet; places count along the rows.",
    )

    def place(self) -> tuple[LabelSheet, int]:
        """Return the sheet, and the first place on it.

        Raises:
            NotAccepted: there is no such sheet, or the place is no number.
        """
        reading = Reading()
        sheet = reading.of(lambda: parse_sheet(self.sheet.data or SHEETS[0].name))
        start = reading.whole(self.start.data, field="start", low=1, high=MOST_LABELS)
        if reading.failed or sheet is None:
            raise reading.refusal()
        return sheet, start or 1


class VoidPassportForm(PostForm):
    """Why a passport is void."""

    reason = StringField("Why", description="Such as: wrong number of plants; issued anew.")
