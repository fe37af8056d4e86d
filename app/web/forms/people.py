"""Forms of people."""

from typing import Final

from wtforms import RadioField, SelectChoice, StringField, TextAreaField
from wtforms.validators import InputRequired, Length

from app.domain.people import Role
from app.services.people import PersonEntry
from app.web.forms.base import PostForm, VersionedForm
from app.web.forms.sign_in import NAME_MISSING

NO_SIGN_IN: Final = SelectChoice("", "does not sign in: is named in records only")
_ROLES: Final = (
    SelectChoice(Role.TRAINEE.value, "trainee: sticks and checks, corrects own entries"),
    SelectChoice(Role.HEAD.value, "head propagator: everything"),
    SelectChoice(Role.MANAGER.value, "manager: reads, sees figures by person, takes data out"),
)
_LONGEST_NOTES: Final = 2000


class PersonForm(PostForm):
    """A new person."""

    name = StringField(
        "Name",
        description="As it is to stand in the log.",
        validators=[InputRequired(message=NAME_MISSING)],
        render_kw={"autocomplete": "off", "autocapitalize": "words", "spellcheck": "false"},
    )
    role = RadioField("Here for", choices=[*_ROLES, NO_SIGN_IN], default=Role.TRAINEE.value)
    notes = TextAreaField(
        "Notes",
        description="Only what the work needs. Heads alone can read it.",
        validators=[Length(max=_LONGEST_NOTES, message="Keep the notes within 2,000 letters.")],
    )

    def entry(self) -> PersonEntry:
        """Return what was typed."""
        role = Role(self.role.data) if self.role.data else None
        return PersonEntry(name=self.name.data, role=role, notes=self.notes.data or "")


class CorrectedPersonForm(PersonForm, VersionedForm):
    """A person who is being corrected."""
