"""Forms of the way in."""

from typing import Final

from wtforms import HiddenField, PasswordField, RadioField, SelectChoice, StringField
from wtforms.validators import AnyOf, InputRequired

from app.web.forms.base import PostForm

NAME_MISSING: Final = "Type your name as it stands in the log."
NOTHING_TYPED: Final = "Type your password."


class SignInForm(PostForm):
    """Name and password; `next` is where the person wanted to go."""

    name = StringField(
        "Name",
        validators=[InputRequired(message=NAME_MISSING)],
        render_kw={"autocomplete": "username", "autocapitalize": "words", "spellcheck": "false"},
    )
    password = PasswordField(
        "Password",
        validators=[InputRequired(message=NOTHING_TYPED)],
        render_kw={"autocomplete": "current-password"},
    )
    next = HiddenField()


class ChangePersonForm(SignInForm):
    """The same with names to choose from: those who can sign in."""

    name = RadioField("Name", validate_choice=False)

    def offer(self, names: tuple[str, ...]) -> None:
        """Offer these names, and ask for one of them."""
        self.name.choices = [SelectChoice(name, name) for name in names]
        self.name.validators = [AnyOf(names, message="Choose your name.")]
