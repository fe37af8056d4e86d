"""The question what two levels of a factor differ by, as a form; it is sent by GET."""

from collections.abc import Iterable, Mapping
from typing import Final

from werkzeug.datastructures import MultiDict
from wtforms import SelectChoice, SelectField, StringField

from app.domain.comparisons_questions import Factor
from app.domain.strike_rates_keys import RateKey
from app.web.forms.strike_rates import RateQuestionForm

TYPED: Final = frozenset({Factor.PLANT, Factor.STOCK_PLANT})
"""Factors with so many levels that one is typed, not chosen from a list."""

_CHOOSE: Final = SelectChoice("", "choose")


class ComparisonForm(RateQuestionForm):
    """The factor and its two levels in a sentence, and the filters of strike rates."""

    by = SelectField(
        "Compare by", choices=[SelectChoice(each.value, each.label) for each in Factor]
    )
    second = None
    one = SelectField("compare", choices=[_CHOOSE])
    other = SelectField("with", choices=[_CHOOSE])

    def __init__(
        self,
        args: MultiDict[str, str],
        *,
        values: Mapping[RateKey, Iterable[str]],
        factors: Iterable[Factor],
    ) -> None:
        super().__init__(args, values=values)
        self.by.choices = [SelectChoice(each.value, each.label) for each in factors]

    def offer(self, levels: Iterable[tuple[str, str]]) -> None:
        """Offer these levels, each with its words, on both sides."""
        choices = [_CHOOSE, *(SelectChoice(value, words) for value, words in levels)]
        self.one.choices = choices
        self.other.choices = choices

    @property
    def narrowed(self) -> bool:
        """Whether one of the folded filters says something or is wrong."""
        folded = [self[key.value] for key in RateKey if key is not RateKey.CUTTING_TYPE]
        return any(field.data or field.errors for field in (*folded, self.day_of))

    @staticmethod
    def _named(args: MultiDict[str, str]) -> MultiDict[str, str]:
        return args


class TypedComparisonForm(ComparisonForm):
    """The same where levels are typed, such as whole plant names."""

    one = StringField("compare")
    other = StringField("with")

    def offer(self, levels: Iterable[tuple[str, str]]) -> None:
        """Offer nothing: there are too many."""
