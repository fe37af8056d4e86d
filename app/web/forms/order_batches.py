"""The form that counts a batch to an order."""

from wtforms import StringField

from app.web.forms.base import PostForm


class OrderBatchForm(PostForm):
    """The code of a batch that is stuck already."""

    batch = StringField("Batch", description="Its code, such as 26-0147.")
