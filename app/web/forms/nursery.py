"""The form of the nursery's own record."""

from wtforms import BooleanField, RadioField, StringField

from app.domain.nursery import MEDIUM_WORDS, Hemisphere, NurseryEntry
from app.web.forms.base import VersionedForm


class NurseryForm(VersionedForm):
    """Name, time zone, half of the globe, the word for medium, whether powder is weighed."""

    name = StringField("Name of the nursery")
    zone = StringField(
        "Time zone", description='Days are counted in this zone, such as "Europe/London".'
    )
    hemisphere = RadioField(
        "Half of the globe",
        choices=[half.value for half in Hemisphere],
        description="In the south the months of the method cards are turned by six.",
    )
    medium_word = RadioField("Your word for what cuttings are stuck in", choices=list(MEDIUM_WORDS))
    raw_powder = BooleanField(
        "The head weighs raw powder for dips here",
        description="Authorised products come first: weighing raw powder may not be permitted for "
        "commercial use. Check with your adviser or authority before you tick this.",
    )

    def entry(self) -> NurseryEntry:
        """Return what was typed."""
        return NurseryEntry(
            name=self.name.data or "",
            zone=(self.zone.data or "").strip(),
            hemisphere=Hemisphere(self.hemisphere.data),
            medium_word=self.medium_word.data or "",
            raw_powder=self.raw_powder.data,
        )
