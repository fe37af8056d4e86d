"""The forms of labels: which ones on what sheet, sent by GET; and the address in their codes."""

from typing import Final

from wtforms import BooleanField, Form, SelectChoice, SelectField, StringField, TextAreaField

from app.domain.label_sheets import SHEETS
from app.web.forms.base import VersionedForm

OWN: Final = "own"


class LabelsForm(Form):
    """Which records get labels, how many, and where they are printed."""

    codes = TextAreaField("Labels for")
    each = StringField("Labels of each", default="1")
    per_tray = BooleanField(
        'One for each tray or pot, saying "1 of 7"',
        description="Where the number of trays is not recorded, as many as said beside.",
    )
    sheet = SelectField(
        "Sheet or roll, mm",
        default=SHEETS[0].name,
        choices=[
            *(SelectChoice(sheet.name) for sheet in SHEETS),
            SelectChoice(OWN, "own measures, see below"),
        ],
        validate_choice=False,
    )
    start = StringField(
        "First free place",
        default="1",
        description="1 on a new sheet; places count along the rows.",
    )

    label_w = StringField("Label, width")
    label_h = StringField("Label, height")
    page_w = StringField("Page, width", description="Blank for a roll of single labels.")
    page_h = StringField("Page, height", description="Blank for a roll.")
    across = StringField("Labels across", default="1")
    down = StringField("Labels down", default="1")
    left = StringField("From the left edge", default="0")
    top = StringField("From the top edge", default="0")
    gap_x = StringField("Gap between columns", default="0")
    gap_y = StringField("Gap between rows", default="0")


OWN_FIELDS: Final = (
    "label_w", "label_h", "page_w", "page_h", "across", "down", "left", "top", "gap_x", "gap_y",
)  # fmt: skip


class LabelAddressForm(VersionedForm):
    """The address that the codes on labels lead to."""

    address = StringField(
        "Address of this program on your network",
        description='As phones type it, such as "http://192.168.1.20:8321". Blank: the address '
        "the page is open at, or the one this PC has on the network.",
        render_kw={"autocapitalize": "off", "spellcheck": "false", "inputmode": "url"},
    )
