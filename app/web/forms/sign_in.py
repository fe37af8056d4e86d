"""Forms of the way in."""

from typing import Final

from wtforms import HiddenField, PasswordField, StringField
from wtforms.validators import InputRequired

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
