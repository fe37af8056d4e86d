"""The form of a container."""

from math import isfinite

from wtforms import BooleanField, RadioField, StringField

from app.domain.containers import ContainerEntry, ContainerKind
from app.domain.problems import NotAccepted, Problem
from app.web.forms.base import VersionedForm


class ContainerForm(VersionedForm):
    """A tray, a pot or open ground, with its measures as typed."""

    name = StringField("Name", description='As the team says it, such as "84-plug tray".')
    kind = RadioField(
        "Kind",
        choices=[kind.value for kind in ContainerKind],
        default=ContainerKind.TRAY.value,
        description="Lined out is open ground or a frame: there, only looks are due.",
    )
    plugs = StringField("Plugs per tray", description="Blank for pots and open trays.")
    volume_ml = StringField("Volume of one plug or pot, ml", description="Blank if not known.")
    retired = BooleanField("No longer in use: do not offer it for new batches")

    def entry(self) -> ContainerEntry:
        """Return what was typed.

        Raises:
            NotAccepted: a measure is not a number.
        """
        problems: list[Problem] = []
        plugs = _number(self.plugs.data, "plugs", problems, whole=True)
        volume_ml = _number(self.volume_ml.data, "volume_ml", problems, whole=False)
        if problems:
            raise NotAccepted(tuple(problems))
        return ContainerEntry(
            name=self.name.data or "",
            kind=ContainerKind(self.kind.data),
            plugs=None if plugs is None else int(plugs),
            volume_ml=volume_ml,
        )


def _number(typed: str | None, field: str, problems: list[Problem], *, whole: bool) -> float | None:
    text = (typed or "").strip().replace(",", ".")
    if not text:
        return None
    try:
        value = float(text)
    except ValueError:
        value = float("nan")
    if isfinite(value) and (not whole or value == int(value)):
        return value
    kind = "whole number" if whole else "number"
    problems.append(
        Problem(field=field, sentence=f"Type a {kind} without its unit, or leave it blank.")
    )
    return None
