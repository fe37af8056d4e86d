"""The forms of the season's board: a line of it, and the room it is planned under."""

import json
from datetime import date, datetime
from typing import Final

from wtforms import HiddenField, SelectChoice, SelectField, StringField

from app.domain.days import parse_day_or_week
from app.domain.orders import Order
from app.domain.problems import NotAccepted
from app.domain.quantities import parse_quantity
from app.domain.season_lines import MOST_CUTTINGS, SeasonLineEntry, monday_of
from app.services.season_lines import PlannedSeason
from app.web.form_reading import Reading
from app.web.forms.base import PostForm, VersionedForm

_NOT_COMPLETE: Final = "This page was not complete. Open it again and plan once more."


class SeasonLineForm(VersionedForm):
    """A batch of an order in a week, as typed."""

    order = SelectField("For", choices=[], validate_choice=False)
    week = StringField("In week", description='"week 5", "2027-W05" or any day of it.')
    cuttings = StringField("Cuttings")
    note = StringField("Note")

    def offer(self, orders: tuple[Order, ...]) -> None:
        """Give the form the open orders."""
        self.order.choices = [
            SelectChoice("", "choose an order"),
            *(SelectChoice(str(order.number), f"{order.name}: {order.plant}") for order in orders),
        ]

    def entry(self, *, today: date, order_number: int | None = None) -> SeasonLineEntry:
        """Return what was typed.

        Raises:
            NotAccepted: something cannot be read, by its field.
        """
        reading = Reading()
        number = reading.of(lambda: self._order() if order_number is None else order_number)
        week_on = reading.of(
            lambda: parse_day_or_week(self.week.data or "", today=monday_of(today), field="week")
        )
        cuttings = reading.of(
            lambda: parse_quantity(
                self.cuttings.data or "", field="cuttings", least=1, most=MOST_CUTTINGS
            )
        )
        if number is None or week_on is None or cuttings is None:
            raise reading.refusal()
        return SeasonLineEntry(
            order_number=number,
            week_on=week_on,
            cuttings=cuttings.number,
            note=self.note.data or "",
        )

    def _order(self) -> int:
        chosen = self.order.data or ""
        if not chosen.isascii() or not chosen.isdecimal():
            raise NotAccepted.at("order", "Choose an order that is open.")
        return int(chosen)


class SeasonPlanForm(PostForm):
    """A plan that was shown, to be put on the board: its lines, its room, and what it replaces."""

    lines = HiddenField()
    fixed = HiddenField()
    room = HiddenField()
    gap = HiddenField()
    stopped_early = HiddenField()
    seen = HiddenField()

    def planned(self) -> PlannedSeason:
        """Return the plan as it was shown.

        Raises:
            NotAccepted: the page was not complete.
        """
        try:
            lines = [
                SeasonLineEntry(
                    order_number=int(number),
                    week_on=date.fromisoformat(week_on),
                    cuttings=int(cuttings),
                )
                for number, week_on, cuttings in json.loads(self.lines.data or "")
            ]
            room = json.loads(self.room.data or "")
            fixed = frozenset(
                (int(line_id), int(version))
                for line_id, version in json.loads(self.fixed.data or "")
            )
            gap_share = float(self.gap.data or "")
            trays, labour, per_tray = (
                None if room[name] is None else int(room[name])
                for name in ("trays", "labour", "per_tray")
            )
        except (ValueError, TypeError, KeyError):
            raise NotAccepted.at("", _NOT_COMPLETE) from None
        if not 0 <= gap_share <= 1:
            raise NotAccepted.at("", _NOT_COMPLETE)
        return PlannedSeason(
            lines=lines,
            fixed=fixed,
            trays=trays,
            labour=labour,
            per_tray=per_tray,
            gap_share=gap_share,
            stopped_early=self.stopped_early.data == "1",
        )

    def seen_at(self) -> datetime | None:
        """Return when the plan was made that this one replaces, None for none.

        Raises:
            NotAccepted: the page was not complete.
        """
        try:
            return datetime.fromisoformat(self.seen.data) if self.seen.data else None
        except ValueError:
            raise NotAccepted.at("", _NOT_COMPLETE) from None


def plan_form(planned: PlannedSeason, *, seen_at: datetime | None) -> SeasonPlanForm:
    """Return the form that puts a plan on the board."""
    lines = [[line.order_number, line.week_on.isoformat(), line.cuttings] for line in planned.lines]
    room = {"trays": planned.trays, "labour": planned.labour, "per_tray": planned.per_tray}
    return SeasonPlanForm(
        formdata=None,
        data={
            "lines": json.dumps(lines),
            "fixed": json.dumps(sorted(planned.fixed)),
            "room": json.dumps(room),
            "gap": repr(planned.gap_share),
            "stopped_early": str(int(planned.stopped_early)),
            "seen": seen_at.isoformat() if seen_at else "",
        },
    )
