"""The form of a cause a cutting is lost to."""

from wtforms import BooleanField, StringField

from app.web.forms.base import VersionedForm


class LostCauseForm(VersionedForm):
    """A cause: its name, whether it spreads, whether it is still offered."""

    name = StringField("Cause", description="As it is said at the bench, such as vine weevil.")
    spreads = BooleanField("It spreads: a batch where it was found is urgent")
    retired = BooleanField("No longer in use: do not offer it at checks")
