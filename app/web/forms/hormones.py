"""The form of a hormone treatment."""

from wtforms import StringField

from app.web.forms.base import PostForm


class HormoneForm(PostForm):
    """One line: substance, form and strength."""

    hormone = StringField(
        "Hormone",
        description='Substance, form and strength, such as "IBA talc 3000 ppm" or "IBA gel 0.3 %". '
        "An acid and its salt are different substances: write K-IBA for the potassium salt.",
    )
