"""The forms of a hold: placing one, and lifting it."""

from datetime import date

from wtforms import SelectChoice, SelectMultipleField, StringField

from app.domain.days import parse_day
from app.domain.holds import ALWAYS, WAY_HINTS, HoldEntry, HoldWay
from app.domain.lines import Member
from app.domain.problems import NotAccepted
from app.web.form_reading import Reading
from app.web.forms.base import PostForm


class HoldForm(PostForm):
    """A hold as typed; the suspect stands in the page's address."""

    suspected = StringField(
        "What is suspected", description="Such as: brown stems, spreading; or a failed test."
    )
    since_on = StringField(
        "Since",
        description='The first day it may have been so: "24/11", "-14"; blank if not known.',
    )
    ways = SelectMultipleField(
        "Hold of what is still here",
        choices=[SelectChoice(way.value) for way in HoldWay],
        default=[way.value for way in ALWAYS],
        validate_choice=False,
    )

    def since(self, *, today: date) -> date | None:
        """Return the day since when.

        Raises:
            NotAccepted: it is no day.
        """
        typed = (self.since_on.data or "").strip()
        return parse_day(typed, today=today, field="since_on") if typed else None

    def entry(self, *, suspect: Member, today: date) -> HoldEntry:
        """Return what was typed.

        Raises:
            NotAccepted: for everything that cannot be read, by its field.
        """
        reading = Reading()
        since_on = reading.of(lambda: self.since(today=today))
        ways = reading.of(self._ways)
        if reading.failed:
            raise reading.refusal()
        return HoldEntry(
            suspect=suspect,
            suspected=self.suspected.data or "",
            since_on=since_on,
            ways=ways or (),
        )

    def _ways(self) -> tuple[HoldWay, ...]:
        ticked = set(self.ways.data or ())
        if not ticked <= set(WAY_HINTS):
            raise NotAccepted.at("ways", "Tick what is in the list.")
        return tuple(HoldWay(word) for word in ticked)


class LiftForm(PostForm):
    """Why a hold is lifted."""

    reason = StringField("Why", description="Such as: tested clean by the laboratory, 3 Dec.")
