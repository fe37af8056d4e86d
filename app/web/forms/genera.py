"""The form of a genus."""

from wtforms import StringField

from app.web.forms.base import VersionedForm


class GenusForm(VersionedForm):
    """The family of a genus."""

    family = StringField("Family", description="One word, such as Lamiaceae.")
