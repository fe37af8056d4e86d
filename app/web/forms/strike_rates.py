"""The question about strike rates as a form; it is sent by GET and changes nothing."""

from collections.abc import Iterable, Mapping
from typing import Final

from werkzeug.datastructures import MultiDict
from wtforms import Form, SelectChoice, SelectField, StringField

from app.domain.batches import USUAL_COVERS
from app.domain.cutting_types import CuttingType
from app.domain.days import MONTHS
from app.domain.problems import NotAccepted
from app.domain.strike_rates import RateOf
from app.domain.strike_rates_keys import NOT_RECORDED, RateKey
from app.domain.strike_rates_questions import USUAL_RESTUCK, DayOf, Restuck
from app.web.rate_addresses import USUAL

CHOSEN: Final = (
    RateKey.HORMONE, RateKey.MIX, RateKey.PERSON, RateKey.BENCH, RateKey.CONTAINER,
)  # fmt: skip
"""Names whose values are listed from the log."""

TYPED: Final = (
    RateKey.GENUS, RateKey.PLANT, RateKey.METHOD, RateKey.YEAR, RateKey.COVER,
    RateKey.BOTTOM_HEAT, RateKey.STOCK_PLANT,
)  # fmt: skip

_ANY: Final = SelectChoice("", "any")
_BLANK: Final = SelectChoice(NOT_RECORDED, NOT_RECORDED)
RESTUCK_CHOICES: Final = [
    SelectChoice(Restuck.WITHOUT.value, "left out"),
    SelectChoice(Restuck.WITH.value, "counted too"),
    SelectChoice(Restuck.ONLY.value, "alone"),
]
_NAMES: Final = [SelectChoice(key.value, key.label) for key in RateKey]
_MONTHS: Final = [SelectChoice(str(place), name) for place, name in enumerate(MONTHS, start=1)]
_TYPES: Final = [SelectChoice(each.value, each.value) for each in CuttingType]


class RateQuestionForm(Form):
    """The question in a sentence, and the filters for those who want only some of the batches."""

    rate = SelectField(
        "Which rate",
        choices=[
            SelectChoice(RateOf.STRIKE.value, "Strike rate"),
            SelectChoice(RateOf.READY.value, "Plants ready per cutting stuck"),
        ],
    )
    by = SelectField("by", choices=_NAMES)
    second = SelectField("and by", name="and", choices=[SelectChoice("", "nothing else"), *_NAMES])
    cutting_type = SelectField(
        "for", choices=[SelectChoice("", "any cutting type"), *_TYPES, _BLANK]
    )
    day_of = SelectField(
        "by the day",
        choices=[
            SelectChoice("", "stuck (hardwood: taken)"),
            SelectChoice(DayOf.STUCK.value, "stuck"),
            SelectChoice(DayOf.TAKEN.value, "taken"),
        ],
    )
    since = StringField("since")
    until = StringField("until")
    genus = StringField("Genus")
    plant = StringField("Plant")
    method = StringField("Method", description='Such as "semi-ripe, IBA talc 1000 ppm".')
    hormone = SelectField("Hormone")
    mix = SelectField("Mix")
    month = SelectField("Month", choices=[_ANY, *_MONTHS, _BLANK])
    year = StringField("Year")
    person = SelectField("Person", description="Who stuck the batch.")
    bench = SelectField("Bench", description="Where the batch was stuck.")
    cover = StringField("Cover", description=f"Such as {', '.join(USUAL_COVERS[1:4])}.")
    bottom_heat = StringField("Bottom heat", description="In °C.")
    container = SelectField("Container")
    stock_plant = StringField("Stock plant", description="Its code, such as S-0031.")
    restuck = SelectField(
        "Batches re-stuck from another",
        choices=RESTUCK_CHOICES,
        default=USUAL_RESTUCK.value,
    )

    def __init__(
        self, args: MultiDict[str, str], *, values: Mapping[RateKey, Iterable[str]]
    ) -> None:
        super().__init__(self._named(args))
        for key in CHOSEN:
            listed = [SelectChoice(value, value) for value in values[key]]
            self[key.value].choices = [_ANY, *listed, _BLANK]

    def refuse(self, refusal: NotAccepted) -> None:
        """Put each sentence beside the field it is about, or on top where there is none."""
        for problem in refusal.problems:
            if problem.field in self:
                field = self[problem.field]
                field.errors = [*field.errors, problem.sentence]
            else:
                self.form_errors.append(problem.sentence)

    @staticmethod
    def _named(args: MultiDict[str, str]) -> MultiDict[str, str]:
        """Return the address with a name in each of the two choices for one."""
        names = [name for field in ("by", "and") for name in args.getlist(field) if name]
        if not names:
            names = [key.value for key in USUAL]
        others = [pair for pair in args.items(multi=True) if pair[0] not in {"by", "and"}]
        return MultiDict([*others, *zip(("by", "and"), names, strict=False)])
