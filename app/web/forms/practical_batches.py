"""The forms of a session's batches: one for each who takes part, and an own one that is stuck."""

from wtforms import FieldList, Form, FormField, HiddenField, StringField

from app.domain.practicals import MOST_HEADS
from app.web.forms.base import PostForm
from app.web.forms.batches import BatchForm


class PersonStuckForm(Form):
    """What one person stuck; blank for nothing."""

    person = HiddenField()
    stuck = StringField("Number stuck")


class PracticalBatchesForm(BatchForm):
    """Shared settings of a session's batches, and the number stuck by each who takes part.

    `stuck` of the shared settings is filled from the lines, one after the other.
    """

    people = FieldList(FormField(PersonStuckForm), max_entries=MOST_HEADS)


class OwnBatchForm(PostForm):
    """The code of a batch that is stuck already."""

    batch = StringField("Batch", description="Its code, such as 26-0147.")
