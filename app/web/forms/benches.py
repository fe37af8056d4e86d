"""The form of a bench."""

from wtforms import StringField, TextAreaField

from app.domain.benches import MOST_TRAYS, BenchEntry
from app.web.form_reading import Reading
from app.web.forms.base import VersionedForm


class BenchForm(VersionedForm):
    """A bench, bed or frame as typed."""

    name = StringField("Name", description='As the team says it, such as "Mist bench 2".')
    capacity_trays = StringField("Room for trays", description="Blank if nobody counted.")
    notes = TextAreaField("Notes")

    def entry(self) -> BenchEntry:
        """Return what was typed.

        Raises:
            NotAccepted: the room is no whole number.
        """
        reading = Reading()
        capacity = reading.whole(
            self.capacity_trays.data, field="capacity_trays", low=0, high=MOST_TRAYS
        )
        if reading.failed:
            raise reading.refusal()
        return BenchEntry(
            name=self.name.data or "", capacity_trays=capacity, notes=self.notes.data or ""
        )
