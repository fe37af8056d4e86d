"""Forms for a new password."""

from wtforms import PasswordField, StringField
from wtforms.validators import InputRequired

from app.web.forms.base import PostForm
from app.web.forms.sign_in import NAME_MISSING, NOTHING_TYPED

_HINT = "At least 10 characters; a few words in a row are easy to keep."
_NEW_MISSING = "Type the password you want to have."


class CodeForm(PostForm):
    """Name, one-time code and the password to be set."""

    name = StringField(
        "Name",
        validators=[InputRequired(message=NAME_MISSING)],
        render_kw={"autocomplete": "username", "autocapitalize": "words", "spellcheck": "false"},
    )
    code = StringField(
        "One-time code",
        description="From the head propagator; it works once, for an hour.",
        validators=[InputRequired(message="Type the code you were given.")],
        render_kw={"autocomplete": "one-time-code", "spellcheck": "false"},
    )
    password = PasswordField(
        "New password",
        description=_HINT,
        validators=[InputRequired(message=_NEW_MISSING)],
        render_kw={"autocomplete": "new-password"},
    )


class OwnPasswordForm(PostForm):
    """The password as it is, and as it is to be."""

    password = PasswordField(
        "Password until now",
        validators=[InputRequired(message=NOTHING_TYPED)],
        render_kw={"autocomplete": "current-password"},
    )
    new_password = PasswordField(
        "New password",
        description=_HINT,
        validators=[InputRequired(message=_NEW_MISSING)],
        render_kw={"autocomplete": "new-password"},
    )
