"""The forms of a dispatch: sending out, putting right to whom, withdrawing."""

from datetime import date

from wtforms import StringField, TextAreaField

from app.domain.days import parse_day
from app.domain.dispatches import DispatchEntry, read_lines
from app.web.form_reading import Reading
from app.web.forms.base import PostForm, VersionedForm


class DispatchForm(PostForm):
    """A dispatch as typed."""

    sent_on = StringField("Sent on", description='"24/11", "24 nov", "-3" or "t" for today.')
    to_name = StringField("To whom", description="A name is enough; no address is kept here.")
    reference = StringField("Reference", description="Such as the order or delivery note.")
    lines = TextAreaField(
        "What is sent",
        description="One to a line: the code of a liner lot and how many, such as L-0001 120. "
        "Rooted cuttings in their trays go by the batch's code.",
    )
    notes = TextAreaField("Note")

    def entry(self, *, today: date) -> DispatchEntry:
        """Return what was typed.

        Raises:
            NotAccepted: for everything that cannot be read, by its field.
        """
        reading = Reading()
        sent_on = reading.of(
            lambda: parse_day(self.sent_on.data or "", today=today, field="sent_on")
        )
        lines = reading.of(lambda: read_lines(self.lines.data or ""))
        if reading.failed or sent_on is None:
            raise reading.refusal()
        return DispatchEntry(
            sent_on=sent_on,
            to_name=self.to_name.data or "",
            reference=self.reference.data or "",
            lines=lines or (),
            notes=self.notes.data or "",
        )


class RecipientForm(VersionedForm):
    """To whom it was sent, put right."""

    to_name = StringField("To whom")
    reference = StringField("Reference")
    notes = TextAreaField("Note")


class WithdrawDispatchForm(PostForm):
    """Why a dispatch is withdrawn."""

    reason = StringField("Why", description="Such as: the van came back with them.")
