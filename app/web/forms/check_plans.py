"""The forms of check plans: for the nursery or a batch, and for a genus and type."""

from typing import Any, Final

from wtforms import RadioField, SelectChoice, SelectField, StringField

from app.domain.check_plans import CheckPlan
from app.domain.cutting_types import CuttingType
from app.domain.problems import NotAccepted, Problem
from app.web.forms.base import VersionedForm

WIDER: Final = ""
ONLY_LOOKS: Final = "yes"
COUNTED: Final = "no"
BY_BATCHES: Final = "batches"
BY_DAYS: Final = "days"
_NUMBERS: Final = ("look_every_days", "first_count_day", "count_every_days")


class CheckPlanForm(VersionedForm):
    """A plan as typed; a blank number is left to the next wider plan."""

    look_every_days = StringField("A look every so many days", description="Blank: as wider.")
    first_count_day = StringField(
        "First count on day", description="Days after sticking. Blank: as wider."
    )
    count_every_days = StringField(
        "After that a count every so many days", description="Blank: as wider."
    )
    looks_only = RadioField(
        "Before the autumn",
        choices=[
            SelectChoice(
                WIDER, "as usual: hardwood lined out is only looked at, all else is counted"
            ),
            SelectChoice(ONLY_LOOKS, "only looked at; first counted in the autumn"),
            SelectChoice(COUNTED, "counted"),
        ],
        default=WIDER,
    )
    learned = RadioField(
        "When to count",
        choices=[
            SelectChoice(WIDER, "as wider: in the end by what earlier batches taught"),
            SelectChoice(BY_BATCHES, "by what earlier batches taught, as soon as enough is known"),
            SelectChoice(BY_DAYS, "always by the days above"),
        ],
        default=WIDER,
    )

    def plan(self) -> CheckPlan:
        """Return the plan typed.

        Raises:
            NotAccepted: a number is none.
        """
        problems: list[Problem] = []
        days = {name: self._days(name, problems) for name in _NUMBERS}
        if problems:
            raise NotAccepted(tuple(problems))
        looks_only = {WIDER: None, ONLY_LOOKS: True, COUNTED: False}[self.looks_only.data]
        learned = {WIDER: None, BY_BATCHES: True, BY_DAYS: False}[self.learned.data]
        return CheckPlan(
            look_every_days=days["look_every_days"],
            first_count_day=days["first_count_day"],
            count_every_days=days["count_every_days"],
            looks_only=looks_only,
            learned=learned,
        )

    def _days(self, name: str, problems: list[Problem]) -> int | None:
        text = str(self[name].data or "").strip().removeprefix("day ").removesuffix(" days")
        if not text:
            return None
        if text.isdecimal():
            return int(text)
        problems.append(Problem(field=name, sentence="Type a whole number of days, or nothing."))
        return None


class GenusPlanForm(CheckPlanForm):
    """A plan for a genus, for all its types or for one."""

    genus = StringField("Genus", description="Such as Hebe.")
    cutting_type = SelectField(
        "Cutting type",
        choices=[
            SelectChoice("", "every type"),
            *(SelectChoice(kind.value) for kind in CuttingType),
        ],
    )


def typed_plan(plan: CheckPlan, *, version: int) -> dict[str, Any]:
    """Return what the form holds when a stored plan is to be changed."""
    looks_only = {None: WIDER, True: ONLY_LOOKS, False: COUNTED}[plan.looks_only]
    numbers = {name: getattr(plan, name) for name in _NUMBERS}
    typed = {name: "" if days is None else str(days) for name, days in numbers.items()}
    learned = {None: WIDER, True: BY_BATCHES, False: BY_DAYS}[plan.learned]
    return {**typed, "looks_only": looks_only, "learned": learned, "version": version}
