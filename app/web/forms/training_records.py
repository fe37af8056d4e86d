"""The forms of a person's record: what is signed off, and why it is withdrawn."""

from datetime import date

from wtforms import SelectField, StringField, TextAreaField
from wtforms.fields.choices import SelectChoice

from app.domain.days import parse_optional_day
from app.domain.sign_offs import TECHNIQUES, SignOffEntry
from app.web.forms.base import PostForm


class SignOffForm(PostForm):
    """A technique signed off, as typed."""

    technique = SelectField(
        "Technique",
        choices=[SelectChoice(""), *(SelectChoice(value=each) for each in TECHNIQUES)],
        default="",
        validate_choice=False,
    )
    genus = StringField("Genus", description="Blank for every one.")
    signed_on = StringField("Day", description='When you saw it, such as "today" or "3 May".')
    note = TextAreaField("Note", description="What was seen. It stands on the record.")

    def entry(self, *, today: date) -> SignOffEntry:
        """Return what was typed, today where no day is.

        Raises:
            NotAccepted: the day cannot be read.
        """
        typed = self.signed_on.data or ""
        day = parse_optional_day(typed, today=today, field="signed_on")
        return SignOffEntry(
            technique=self.technique.data or "",
            genus=self.genus.data or "",
            signed_on=day or today,
            note=self.note.data or "",
        )


class WithdrawalForm(PostForm):
    """Why a sign-off is withdrawn."""

    reason = TextAreaField("Reason")
