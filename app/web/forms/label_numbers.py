"""The forms of labels printed ahead: how many to reserve, and which batch one is put on."""

from wtforms import StringField

from app.web.forms.base import PostForm


class ReserveForm(PostForm):
    """How many numbers are reserved."""

    number = StringField(
        "How many labels", description="A number is never given twice, so print what you reserve."
    )


class PutOnForm(PostForm):
    """The batch a label is put on."""

    batch = StringField("Batch it is on", description="Its code, such as 26-0147.")
