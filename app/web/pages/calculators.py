"""The calculators: sums of the potting shed and the hormone cupboard, asked by GET."""

from dataclasses import dataclass
from typing import Final

from flask import Blueprint, render_template, request
from flask.typing import ResponseReturnValue

from app.domain.permissions import Permission
from app.domain.problems import NotFound
from app.domain.work_cautions import HORMONE, MEDIUM, WorkCaution
from app.web.forms.calculators import (
    BulkForm,
    CalculatorForm,
    ContainerVolumeForm,
    DilutionForm,
    MixingForm,
    PorosityForm,
    RatioForm,
    WeighingForm,
)
from app.web.permissions import allow
from app.web.requests import nursery

blueprint = Blueprint("calculators", __name__, url_prefix="/calculators")


@dataclass(frozen=True, kw_only=True)
class Calculator:
    """One page: what it works out, and the caution that belongs to it."""

    form: type[CalculatorForm]
    heading: str
    lead: str
    caution: WorkCaution | None = None


_MIXING: Final = Calculator(
    form=MixingForm,
    heading="How many litres of each ingredient",
    lead="By parts of volume, with what the mix loses on mixing and settles in the pot.",
    caution=MEDIUM,
)
_CONTAINER: Final = Calculator(
    form=ContainerVolumeForm,
    heading="What a container holds",
    lead="From its inner measures. Millimetres are taken too, if you type mm.",
)
_DILUTION: Final = Calculator(
    form=DilutionForm,
    heading="How much stock and how much water",
    lead="Acid and salt are different substances: say which is meant and which is in the bottle.",
    caution=HORMONE,
)
_RATIO: Final = Calculator(
    form=RatioForm,
    heading="What a ratio on a label gives",
    lead="1:10 can mean one part in ten or one part to ten.",
    caution=HORMONE,
)
_BULK: Final = Calculator(
    form=BulkForm,
    heading="How many litres a weight of medium is",
    lead="From its mass and its bulk density.",
    caution=MEDIUM,
)
_POROSITY: Final = Calculator(
    form=PorosityForm,
    heading="How much air a medium holds",
    lead="Measured in the container it is used in.",
    caution=MEDIUM,
)
_WEIGHING: Final = Calculator(
    form=WeighingForm,
    heading="How much powder to weigh",
    lead="For the head alone. An authorised product comes first.",
    caution=HORMONE,
)


@blueprint.route("")
@allow(Permission.READ)
def show_all() -> ResponseReturnValue:
    """List the calculators."""
    return render_template("calculators/list.html", powder=nursery().raw_powder)


@blueprint.route("/mixing")
@allow(Permission.READ)
def mixing() -> ResponseReturnValue:
    """Work out litres of each ingredient, and whole bags."""
    return _page(_MIXING)


@blueprint.route("/container")
@allow(Permission.READ)
def container() -> ResponseReturnValue:
    """Work out what a container holds."""
    return _page(_CONTAINER)


@blueprint.route("/dilution")
@allow(Permission.READ)
def dilution() -> ResponseReturnValue:
    """Work out stock and water for a dip."""
    return _page(_DILUTION)


@blueprint.route("/ratio")
@allow(Permission.READ)
def ratio() -> ResponseReturnValue:
    """Work out both readings of a ratio."""
    return _page(_RATIO)


@blueprint.route("/bulk")
@allow(Permission.READ)
def bulk() -> ResponseReturnValue:
    """Work out the litres of a weight of medium."""
    return _page(_BULK)


@blueprint.route("/porosity")
@allow(Permission.READ)
def porosity() -> ResponseReturnValue:
    """Work out pores, air and water of a medium."""
    return _page(_POROSITY)


@blueprint.route("/weighing")
@allow(Permission.KEEP_REGISTERS)
def weighing() -> ResponseReturnValue:
    """Work out the powder of a dip, where the head has allowed that.

    Raises:
        NotFound: raw powder is not weighed here.
    """
    if not nursery().raw_powder:
        raise NotFound(
            "Weighing raw powder is switched off here. An authorised product comes first; the head "
            "can switch it on under Records, The nursery."
        )
    return _page(_WEIGHING)


def _page(calculator: Calculator) -> ResponseReturnValue:
    form = calculator.form(request.args)
    asked = bool(request.args)
    answer = form.answer() if asked else None
    page = render_template("calculators/show.html", form=form, calculator=calculator, answer=answer)
    return page, 422 if asked and answer is None else 200
