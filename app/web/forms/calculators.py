"""The calculators' questions as forms; they are sent by GET and store nothing."""

import re
from collections.abc import Callable
from typing import Any, Final, TypeVar

from wtforms import Form, RadioField, SelectChoice, SelectField, StringField, TextAreaField

from app.domain.calculator_answers import (
    DilutionQuestion,
    MixingQuestion,
    bulk_answer,
    container_answer,
    dilution_answer,
    mixing_answer,
    porosity_answer,
    ratio_answer,
    weighing_answer,
)
from app.domain.container_volumes import Shape
from app.domain.hormone_amounts import SUBSTANCES, Substance, parse_strength
from app.domain.measures import parse_measure
from app.domain.mix_lines import parse_parts
from app.domain.mixes import parse_litres
from app.domain.problems import NotAccepted, Problem
from app.domain.quantities import parse_optional_quantity
from app.domain.worked_sums import WorkedSum
from app.web.amount_reading import bare_litres, read_percent, read_positive, read_volume_ml

Read = TypeVar("Read")

_MILLIMETRES: Final = re.compile(r"(.*[0-9])\s*mm", re.IGNORECASE)
_RATIO: Final = re.compile(r"([0-9]+(?:[.,][0-9]+)?)\s*(?::|to|in|/)\s*([0-9]+(?:[.,][0-9]+)?)")
_MOST_ML: Final = 1_000_000
_MOST_CM: Final = 1_000
_USES: Final = [SelectChoice("dip", "dip of seconds"), SelectChoice("soak", "soak of hours")]


class CalculatorForm(Form):
    """A question, with the sum that answers it."""

    def answer(self) -> WorkedSum | None:
        """Return what was worked out, or None with a sentence beside each field that is wrong."""
        try:
            return self.worked()
        except NotAccepted as refusal:
            for problem in refusal.problems:
                field = self[problem.field]
                field.errors = [*field.errors, problem.sentence]
        return None

    def worked(self) -> WorkedSum:
        """Return what was worked out."""
        raise LookupError("each calculator has its own sum")


class Reader:
    """Reads field after field and keeps each one's refusal, so that all are said at once."""

    def __init__(self) -> None:
        self.problems: list[Problem] = []

    def read(self, parse: Callable[..., Read], text: str | None, *, spare: Any, **how: Any) -> Read:
        """Return what was read; where it is refused, the refusal is kept and `spare` returned."""
        try:
            return parse(text or "", **how)
        except NotAccepted as refusal:
            self.problems.extend(refusal.problems)
        return spare  # type: ignore[no-any-return]

    def finish(self) -> None:
        """Refuse all that was wrong.

        Raises:
            NotAccepted: something was.
        """
        if self.problems:
            raise NotAccepted(tuple(self.problems))


class MixingForm(CalculatorForm):
    """A recipe and what is to be filled with it."""

    parts = TextAreaField("Recipe", description='One ingredient to a line, such as "bark 3".')
    litres = StringField("Litres of made mix", description="Or give containers below.")
    containers = StringField("Number of pots or plugs")
    each_ml = StringField("ml in each")
    potting = StringField(
        "Potting reference, %", description="Of 100 l loose, how many fill pots. Blank: 100."
    )
    shrinkage = StringField("Shrinks on mixing by, %", description="Blank: not measured.")
    bag = StringField("Litres in a bag", description="Blank: no bags.")

    def worked(self) -> WorkedSum:
        """Return the litres of each ingredient."""
        reader = Reader()
        parts = reader.read(parse_parts, self.parts.data, spare=(), field="parts")
        if not parts and not reader.problems:
            reader.problems.append(
                Problem(field="parts", sentence='Say what it is made of, such as "bark 3".')
            )
        if any(part.parts <= 0 for part in parts):
            reader.problems.append(Problem(field="parts", sentence="Give parts above 0."))
        litres = reader.read(
            parse_litres, bare_litres(self.litres.data), spare=None, field="litres"
        )
        count = reader.read(
            parse_optional_quantity, self.containers.data, spare=None, field="containers", least=1
        )
        each = reader.read(read_positive, self.each_ml.data, spare=None, field="each_ml", unit="ml")
        potting = reader.read(read_percent, self.potting.data, spare=None, field="potting", low=20)
        shrinkage = reader.read(
            read_percent, self.shrinkage.data, spare=None, field="shrinkage", high=50
        )
        bag = reader.read(
            read_positive, bare_litres(self.bag.data), spare=None, field="bag", unit="litres"
        )
        if not reader.problems and (litres is None) == (count is None or each is None):
            sentence = "Give litres, or else the number of containers and the ml in each."
            reader.problems.append(Problem(field="litres", sentence=sentence))
        reader.finish()
        asked = MixingQuestion(
            parts=parts,
            litres=litres,
            containers=count.number if count else 0,
            each_ml=each or 0.0,
            potting_share=1.0 if potting is None else potting / 100,
            shrinkage_share=None if shrinkage is None else shrinkage / 100,
            bag_litres=bag,
        )
        return mixing_answer(asked)


class ContainerVolumeForm(CalculatorForm):
    """Inner measures of a pot, a cylinder or a box."""

    shape = RadioField(
        "Shape",
        choices=[
            SelectChoice(Shape.ROUND.value, "round pot or cylinder"),
            SelectChoice(Shape.SQUARE.value, "square pot"),
            SelectChoice(Shape.BOX.value, "box or open tray"),
        ],
        default=Shape.ROUND.value,
    )
    top = StringField("Inner width at the top, cm", description="Of a box: its length.")
    base = StringField(
        "Inner width at the base, cm", description="Blank: as at the top. Of a box: its width."
    )
    depth = StringField("Inner depth, cm")
    fill = StringField("Filled to, cm above the base", description="Blank: to the brim.")

    def worked(self) -> WorkedSum:
        """Return what it holds."""
        reader = Reader()
        top = reader.read(_length, self.top.data, spare=None, field="top")
        base = reader.read(_length, self.base.data, spare=None, field="base", least=0.0)
        depth = reader.read(_length, self.depth.data, spare=None, field="depth")
        fill = reader.read(_length, self.fill.data, spare=None, field="fill")
        for field, value in (("top", top), ("depth", depth)):
            if value is None and not any(one.field == field for one in reader.problems):
                reader.problems.append(Problem(field=field, sentence="Give it in cm."))
        if fill and depth and fill > depth:
            sentence = "It cannot be filled higher than it is deep."
            reader.problems.append(Problem(field="fill", sentence=sentence))
        reader.finish()
        return container_answer(
            Shape(self.shape.data),
            top_cm=top or 0.0,
            base_cm=(top or 0.0) if base is None else base,
            depth_cm=depth or 0.0,
            fill_cm=fill or depth or 0.0,
        )


class DilutionForm(CalculatorForm):
    """A dip wanted, and the stock at hand."""

    wanted_of = SelectField("Wanted, counted as", choices=list(SUBSTANCES), default="IBA")
    wanted = StringField("Strength wanted", description='"2000 ppm", "0.2 %" or "5 mM".')
    volume = StringField("How much of it", description='"500 ml" or "1 l".')
    use = RadioField("Used as", choices=_USES, default="dip")
    stock_of = SelectField("In the bottle", choices=list(SUBSTANCES), default="IBA")
    stock = StringField("Strength of the stock")
    solvent = StringField("Alcohol or other solvent in the stock, %", description="0 if water.")

    def worked(self) -> WorkedSum:
        """Return the ml of stock and of water."""
        wanted_of, stock_of = _substance(self.wanted_of.data), _substance(self.stock_of.data)
        reader = Reader()
        wanted = reader.read(
            parse_strength, self.wanted.data, spare=1.0, field="wanted", substance=wanted_of
        )
        volume = reader.read(read_volume_ml, self.volume.data, spare=1.0, field="volume")
        stock = reader.read(
            parse_strength, self.stock.data, spare=1.0, field="stock", substance=stock_of
        )
        solvent = reader.read(read_percent, self.solvent.data, spare=0.0, field="solvent")
        if solvent is None:
            sentence = "Give the share of solvent in the stock: 0 if it is in water."
            reader.problems.append(Problem(field="solvent", sentence=sentence))
        reader.finish()
        asked = DilutionQuestion(
            wanted_of=wanted_of,
            wanted_ppm=wanted,
            stock_of=stock_of,
            stock_ppm=stock,
            volume_ml=volume,
            solvent_share=(solvent or 0.0) / 100,
            soak=self.use.data == "soak",
        )
        return dilution_answer(asked)


class RatioForm(CalculatorForm):
    """A product and the ratio on its label."""

    product = StringField("In the product", description='"1 % IBA" or "1 % IBA + 0.5 % NAA".')
    ratio = StringField("Ratio", description='"1:10".')

    def worked(self) -> WorkedSum:
        """Return the strengths in both readings."""
        reader = Reader()
        product = reader.read(_product, self.product.data, spare=(), field="product")
        parts, to = reader.read(_ratio, self.ratio.data, spare=(1.0, 1.0), field="ratio")
        reader.finish()
        return ratio_answer(product, parts=parts, to=to)


class BulkForm(CalculatorForm):
    """A mass of medium and its bulk density."""

    mass = StringField("Mass, kg", description="Of the medium alone, as it was weighed.")
    density = StringField(
        "Bulk density, g/l", description="As the supplier or the laboratory gives it."
    )

    def worked(self) -> WorkedSum:
        """Return the litres."""
        reader = Reader()
        found = {}
        for field, unit in (("mass", "kg"), ("density", "g/l")):
            value = reader.read(read_positive, self[field].data, spare=1.0, field=field, unit=unit)
            if value is None:
                reader.problems.append(Problem(field=field, sentence=f"Give it in {unit}."))
            found[field] = value or 1.0
        reader.finish()
        return bulk_answer(mass_kg=found["mass"], density_g_l=found["density"])


class PorosityForm(CalculatorForm):
    """Three volumes of water, or of the container."""

    container_ml = StringField(
        "Volume of the container, ml", description="Holes taped, filled level with water."
    )
    saturation_ml = StringField("Water that saturates the dry medium, ml")
    drained_ml = StringField("Water that drains once the holes are open, ml")

    def worked(self) -> WorkedSum:
        """Return pores, air and water."""
        reader = Reader()
        volumes = {}
        for field in ("container_ml", "saturation_ml", "drained_ml"):
            value = reader.read(
                parse_measure, self[field].data, spare=0.0, field=field, low=0, high=_MOST_ML,
                unit="ml",
            )  # fmt: skip
            if value is None:
                reader.problems.append(Problem(field=field, sentence="Give it in ml."))
            volumes[field] = value or 0.0
        reader.finish()
        return porosity_answer(**volumes)


class WeighingForm(CalculatorForm):
    """A dip wanted, to be made from powder."""

    wanted_of = SelectField("Wanted, counted as", choices=list(SUBSTANCES), default="IBA")
    wanted = StringField("Strength wanted", description='"1000 ppm" or "0.1 %".')
    volume = StringField("How much of it", description='"500 ml" or "1 l".')
    use = RadioField("Used as", choices=_USES, default="dip")
    stock_of = SelectField("In the tub", choices=list(SUBSTANCES), default="K-IBA")
    purity = StringField("Purity of the powder, %", description="As its label says.")

    def worked(self) -> WorkedSum:
        """Return the grams."""
        wanted_of = _substance(self.wanted_of.data)
        reader = Reader()
        wanted = reader.read(
            parse_strength, self.wanted.data, spare=1.0, field="wanted", substance=wanted_of
        )
        volume = reader.read(read_volume_ml, self.volume.data, spare=1.0, field="volume")
        purity = reader.read(read_percent, self.purity.data, spare=100.0, field="purity", low=1)
        if purity is None:
            sentence = "Give the purity on the powder's label, such as 98 %."
            reader.problems.append(Problem(field="purity", sentence=sentence))
        reader.finish()
        return weighing_answer(
            wanted_of,
            wanted_ppm=wanted,
            powder_of=_substance(self.stock_of.data),
            volume_ml=volume,
            purity_share=(purity or 100.0) / 100,
            soak=self.use.data == "soak",
        )


def _substance(name: str | None) -> Substance:
    return SUBSTANCES.get(name or "", SUBSTANCES["IBA"])


def _length(text: str, *, field: str, least: float = 0.1) -> float | None:
    millimetres = _MILLIMETRES.fullmatch(text.strip())
    if millimetres:
        value = parse_measure(millimetres[1], field=field, low=least, high=_MOST_CM * 10, unit="mm")
        return None if value is None else value / 10
    return parse_measure(text, field=field, low=least, high=_MOST_CM, unit="cm")


def _product(text: str, *, field: str) -> tuple[tuple[Substance, float], ...]:
    found = []
    for piece in filter(None, (part.strip() for part in text.split("+"))):
        names = [word for word in piece.split() if word.upper() in _BY_CAPITALS]
        if len(names) != 1:
            listed = ", ".join(SUBSTANCES)
            raise NotAccepted.at(field, f'Name one of {listed} with its strength: "1 % IBA".')
        substance = _BY_CAPITALS[names[0].upper()]
        strength = " ".join(word for word in piece.split() if word != names[0])
        found.append((substance, parse_strength(strength, field=field, substance=substance)))
    if not found:
        raise NotAccepted.at(field, 'Say what is in it, such as "1 % IBA + 0.5 % NAA".')
    return tuple(found)


def _ratio(text: str, *, field: str) -> tuple[float, float]:
    typed = _RATIO.fullmatch(text.strip())
    parts, to = (float(one.replace(",", ".")) for one in typed.groups()) if typed else (0.0, 0.0)
    if not parts or not to:
        raise NotAccepted.at(field, 'Give a ratio such as "1:10".')
    return parts, to


_BY_CAPITALS: Final = {name.upper(): substance for name, substance in SUBSTANCES.items()}
