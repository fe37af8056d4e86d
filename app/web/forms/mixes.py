"""The form of a mix, and the one that asks for litres."""

from wtforms import StringField, TextAreaField

from app.domain.measures import parse_measure
from app.domain.mix_lines import parse_parts
from app.domain.mixes import HIGHEST_SHRINKAGE, MixEntry, MixPart
from app.domain.problems import NotAccepted, Problem
from app.web.forms.base import VersionedForm


class MixForm(VersionedForm):
    """A recipe as typed: one ingredient to a line with its parts."""

    name = StringField("Name", description='As the team says it, such as "Frame mix".')
    parts = TextAreaField(
        "Ingredients and parts by volume",
        description=(
            'One to a line, such as "bark 3"; per cent as "bark 60 %"; '
            'or all at once, "equal parts perlite and compost".'
        ),
    )
    shrinkage = StringField(
        "Shrinkage on mixing, %",
        description="By how much the made mix is less than the sum, as you measured it. Blank if "
        "nobody did; 5 to 15 % is usual (common practice, no source).",
    )
    notes = TextAreaField("Notes")

    def entry(self) -> MixEntry:
        """Return what was typed.

        Raises:
            NotAccepted: a line of the recipe or the shrinkage cannot be read.
        """
        problems: list[Problem] = []
        parts: tuple[MixPart, ...] = ()
        percent = None
        try:
            parts = parse_parts(self.parts.data or "")
        except NotAccepted as refused:
            problems.extend(refused.problems)
        try:
            percent = parse_measure(
                self.shrinkage.data or "",
                field="shrinkage",
                low=0,
                high=HIGHEST_SHRINKAGE * 100,
                unit="%",
            )
        except NotAccepted as refused:
            problems.extend(refused.problems)
        if problems:
            raise NotAccepted(tuple(problems))
        return MixEntry(
            name=self.name.data or "",
            parts=parts,
            shrinkage_share=None if percent is None else percent / 100,
            notes=self.notes.data or "",
        )
