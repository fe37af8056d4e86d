"""The form of the first start."""

from zoneinfo import available_timezones

from wtforms import PasswordField, StringField
from wtforms.validators import InputRequired

from app.web.forms.base import PostForm
from app.web.forms.sign_in import NAME_MISSING


class FirstStartForm(PostForm):
    """The code shown on the PC, the first head's name and password, and where the nursery is."""

    code = StringField(
        "One-time code",
        description="Shown in the window in which Strikewell was started. It lasts an hour.",
        validators=[InputRequired(message="Type the code from the window of the start.")],
        render_kw={"autocomplete": "one-time-code", "spellcheck": "false"},
    )
    name = StringField(
        "Your name",
        description="As it is to stand in the log.",
        validators=[InputRequired(message=NAME_MISSING)],
        render_kw={"autocomplete": "name", "spellcheck": "false"},
    )
    password = PasswordField(
        "Password",
        description="At least 10 characters; a few words in a row are easy to keep.",
        validators=[InputRequired(message="Type the password you want to have.")],
        render_kw={"autocomplete": "new-password"},
    )
    nursery = StringField("Name of the nursery", description="It stands at the foot of each page.")
    zone = StringField(
        "Time zone",
        description='Such as "Europe/London". It decides when a new day begins.',
        validators=[InputRequired(message='Choose a time zone, such as "Europe/London".')],
        render_kw={"list": "zones", "spellcheck": "false", "autocomplete": "off"},
    )


def zone_names() -> tuple[str, ...]:
    """Return the time zones of IANA's list that are named after a place, by name."""
    return tuple(sorted(name for name in available_timezones() if "/" in name and _place(name)))


def _place(name: str) -> bool:
    return not name.startswith(("Etc/", "SystemV/", "posix/", "right/", "US/"))
