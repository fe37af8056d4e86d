"""The forms of photographs: a new one, and why one is withdrawn."""

from collections.abc import Sequence
from datetime import date
from typing import BinaryIO, Final, cast

from flask_wtf.file import FileField
from wtforms import SelectChoice, SelectField, StringField

from app.domain.days import parse_day
from app.domain.photographs import LONGEST_CAPTION, PhotographEntry
from app.domain.problems import NotAccepted
from app.store.queries.people import PersonName
from app.web.form_reading import Reading
from app.web.forms.base import PostForm, VersionedForm

TOO_LARGE: Final = (
    "This picture is larger than 15 MB. Let the phone take smaller ones, or make it smaller, and "
    "send it again."
)
ONCE_MORE: Final = "Choose the photograph once more: a browser does not keep it."
_FILES: Final = ("picture", "chosen")


class PhotographForm(PostForm):
    """A photograph to be kept: taken just now, or chosen from those on the device."""

    picture = FileField("Take a photograph")
    chosen = FileField(
        "Or choose one", description="JPEG or PNG, at most 15 MB. It is kept smaller."
    )
    taken_on = StringField("Taken on", default="today", description='Such as "24/11" or "-1".')
    taken_by = SelectField("Taken by", choices=[], validate_choice=False)
    caption = StringField(
        "What it shows",
        description="Blank is fine. Its plant, batch and day are said beside it anyway.",
        render_kw={"maxlength": LONGEST_CAPTION},
    )

    def offer(self, people: Sequence[PersonName]) -> None:
        """Give the list of people its choices."""
        self.taken_by.choices = [
            SelectChoice("", "not recorded"),
            *(SelectChoice(str(person.id), person.name) for person in people),
        ]

    def sent(self) -> tuple[str, BinaryIO] | None:
        """Return the picture sent and the field it came by, None without one."""
        for name in _FILES:
            data = self[name].data
            if data and data.filename:
                return name, cast("BinaryIO", data.stream)
        return None

    def entry(
        self, *, today: date, check_id: int | None = None, stock_plant_id: int | None = None
    ) -> PhotographEntry:
        """Return what was typed of the photograph of a check or a stock plant.

        Raises:
            NotAccepted: the day is none, or the person is not in the list.
        """
        reading = Reading()
        taken_on = reading.of(
            lambda: parse_day(self.taken_on.data or "", today=today, field="taken_on")
        )
        taken_by_id = reading.of(self._taken_by_id)
        if taken_on is None or reading.failed:
            raise reading.refusal()
        return PhotographEntry(
            check_id=check_id,
            stock_plant_id=stock_plant_id,
            taken_on=taken_on,
            taken_by_id=taken_by_id,
            caption=self.caption.data or "",
        )

    def _taken_by_id(self) -> int | None:
        typed = self.taken_by.data or ""
        if typed not in {choice.value for choice in self.taken_by.choices}:
            raise NotAccepted.at("taken_by", "Choose somebody from the list.")
        return int(typed) if typed else None


class WithdrawForm(VersionedForm):
    """Why a photograph is withdrawn."""

    reason = StringField("Why it is withdrawn", description="Such as: it shows another batch.")
