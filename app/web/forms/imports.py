"""The forms of reading a sheet in: the file with the notebook's name, and another name for it."""

from flask_wtf.file import FileField
from wtforms import StringField

from app.services.notebook_imports import LONGEST_REFERENCE
from app.web.forms.base import PostForm


class ReferenceForm(PostForm):
    """The name of the notebook a sheet is from."""

    reference = StringField(
        "Name of the notebook",
        description="Batches are found again by this name and their own. Keep it the same when "
        "the sheet is read in again.",
    )

    def typed_reference(self) -> str:
        """Return the name with single spaces, "" for none."""
        return " ".join((self.reference.data or "").split())[:LONGEST_REFERENCE]


class ImportForm(ReferenceForm):
    """A sheet to be read in."""

    sheet = FileField("Sheet", description="A .csv or .xlsx file of at most 2 MB and 5,000 lines.")
