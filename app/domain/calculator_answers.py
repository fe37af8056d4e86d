"""The answers of the calculators in words: mixing, containers, dilution, ratio, weighing."""

from dataclasses import dataclass
from typing import Final

from app.domain.container_volumes import (
    Shape,
    bulk_litres,
    containers_per_m3,
    loose_litres,
    tapered_ml,
    whole_bags,
    width_at,
)
from app.domain.hormone_amounts import (
    Substance,
    dilute,
    equal_ppm,
    ratio_strengths,
    solubility_advisories,
    use_advisories,
    weigh_mg,
)
from app.domain.mixes import MixPart, ingredient_volumes
from app.domain.porosities import METHOD, container_porosity
from app.domain.standings import COMMON_PRACTICE, Advisory
from app.domain.worked_sums import WorkedSum, figure

ASSUMED_SHRINKAGE: Final = 0.10
_CUP: Final = 1000
_AUTHORISED: Final = Advisory(
    field="",
    sentence=(
        "Use an authorised product and its label first: weighing raw powder may not be permitted "
        "for commercial use. Check with your adviser or authority."
    ),
    standing="from memory, check locally",
    urgent=True,
)
READ_LABEL: Final = Advisory(
    field="",
    sentence="The product's own label decides: follow it where it says otherwise.",
    standing="",
)


@dataclass(frozen=True, kw_only=True)
class MixingQuestion:
    """What is to be filled: litres of made mix, or so many containers of so many ml.

    `shrinkage_share` is None where nobody measured it. `bag_litres` is None for no bags.
    """

    parts: tuple[MixPart, ...]
    litres: float | None = None
    containers: int = 0
    each_ml: float = 0.0
    potting_share: float = 1.0
    shrinkage_share: float | None = None
    bag_litres: float | None = None


def mixing_answer(asked: MixingQuestion) -> WorkedSum:
    """Return the litres of each ingredient, with whole bags where the size of a bag is given."""
    in_pots = asked.containers * asked.each_ml / 1000
    litres = asked.litres or loose_litres(in_pots, potting_share=asked.potting_share)
    share = ASSUMED_SHRINKAGE if asked.shrinkage_share is None else asked.shrinkage_share
    volumes = ingredient_volumes(asked.parts, litres=litres, shrinkage_share=share)
    lines = [
        (each.ingredient, _with_bags(each.litres, bag_litres=asked.bag_litres)) for each in volumes
    ]
    lines.append(("Going in altogether", figure(sum(each.litres for each in volumes), unit="l")))
    advisories: tuple[Advisory, ...] = ()
    if asked.shrinkage_share is None:
        sentence = (
            f"Nobody gave how much this mix shrinks on mixing, so {ASSUMED_SHRINKAGE:.0%} is "
            "taken; 5 to 15% is usual. Measure it once: litres in against litres out."
        )
        advisories = (
            Advisory(
                field="shrinkage",
                sentence=sentence.replace("%", " %"),
                standing=COMMON_PRACTICE,
            ),
        )
    filling = f", which fills {asked.containers:,} containers" if asked.containers else ""
    return WorkedSum(
        sentence=f"For {figure(litres, unit='l')} of made mix{filling}, tip in:",
        lines=tuple(lines),
        advisories=advisories,
    )


def container_answer(
    shape: Shape, *, top_cm: float, base_cm: float, depth_cm: float, fill_cm: float
) -> WorkedSum:
    """Return what a container holds filled to a height, and how many a cubic metre fills.

    Of a box, top is the length and base the width.
    """
    if shape is Shape.BOX:
        volume_ml = top_cm * base_cm * fill_cm
    else:
        width = width_at(fill_cm, top_cm=top_cm, base_cm=base_cm, height_cm=depth_cm)
        volume_ml = tapered_ml(width, base_cm=base_cm, height_cm=fill_cm, shape=shape)
    return WorkedSum(
        sentence=f"It holds {figure(volume_ml, unit='ml')}.",
        lines=(
            ("In litres", figure(volume_ml / _CUP, unit="l", places=3)),
            ("Filled by a cubic metre", f"{containers_per_m3(volume_ml):,}"),
            (
                "If 100 l of medium fill 80 l of pots",
                f"{containers_per_m3(volume_ml, potting_share=0.8):,}",
            ),
        ),
        advisories=(
            Advisory(
                field="",
                sentence=(
                    "Medium settles in the pot: in tests it stood 5 to 55 % denser than loose, so "
                    "that 100 l filled about 95 to 65 l of pots."
                ),
                standing="Verhagen, Acta Horticulturae 1168, article 14",
            ),
        ),
    )


@dataclass(frozen=True, kw_only=True)
class DilutionQuestion:
    """A dip wanted of one substance, from a stock of the same or of its salt; `soak` for hours."""

    wanted_of: Substance
    wanted_ppm: float
    stock_of: Substance
    stock_ppm: float
    volume_ml: float
    solvent_share: float = 0.0
    soak: bool = False


def dilution_answer(asked: DilutionQuestion) -> WorkedSum:
    """Return how much stock and how much water, and what of the dip is solvent.

    Raises:
        NotAccepted: the stock is too weak, or is another substance.
    """
    as_stock = equal_ppm(asked.wanted_ppm, of=asked.wanted_of, given_as=asked.stock_of)
    made = dilute(
        asked.stock_ppm,
        wanted_ppm=as_stock,
        volume_ml=asked.volume_ml,
        solvent_share=asked.solvent_share,
    )
    lines = [
        ("Stock", figure(made.stock_ml, unit="ml", places=2)),
        ("Water", figure(made.thinner_ml, unit="ml", places=2)),
        ("Solvent in the finished dip", figure(made.solvent_share * 100, unit="%")),
    ]
    if asked.wanted_of != asked.stock_of:
        equals = f"{figure(as_stock, unit='ppm')} of {asked.stock_of.name}"
        lines.append((f"{figure(asked.wanted_ppm, unit='ppm')} of {asked.wanted_of.name}", equals))
    return WorkedSum(
        sentence=(
            f"Take {figure(made.stock_ml, unit='ml', places=2)} of the stock and "
            f"{figure(made.thinner_ml, unit='ml', places=2)} of water."
        ),
        lines=tuple(lines),
        advisories=(
            *use_advisories(asked.wanted_ppm, soak=asked.soak),
            *solubility_advisories(asked.stock_of, ppm=as_stock, solvent_share=made.solvent_share),
            READ_LABEL,
        ),
    )


def ratio_answer(
    product: tuple[tuple[Substance, float], ...], *, parts: float, to: float
) -> WorkedSum:
    """Return what a ratio on a label gives in both readings, for each substance of the product.

    Raises:
        NotAccepted: the ratio would make more product than mixture.
    """
    lines = []
    sums = [0.0, 0.0]
    for substance, ppm in product:
        inside, added = ratio_strengths(ppm, parts=parts, to=to)
        sums = [sums[0] + inside, sums[1] + added]
        both = f"{figure(inside, places=2)} or {figure(added, places=2)} ppm"
        lines.append((substance.name, both))
    if len(product) > 1:
        lines.append(
            ("Together", f"{figure(sums[0], places=2)} or {figure(sums[1], places=2)} ppm")
        )
    ratio = f"{parts:g}:{to:g}"
    water = to - parts
    return WorkedSum(
        sentence=(
            f"{ratio} is read in two ways: {parts:g} in {to:g} ({water:g} of water added), or "
            f"{parts:g} to {to:g} ({to:g} of water added). The first figure is for the first."
        ),
        lines=tuple(lines),
        advisories=(
            Advisory(
                field="ratio",
                sentence="Ask the maker, or read the label, which of the two is meant.",
                standing=COMMON_PRACTICE,
            ),
        ),
    )


def weighing_answer(
    wanted_of: Substance,
    *,
    wanted_ppm: float,
    powder_of: Substance,
    volume_ml: float,
    purity_share: float,
    soak: bool,
) -> WorkedSum:
    """Return the powder to weigh for so many ml of dip at a strength.

    Raises:
        NotAccepted: the powder is another substance.
    """
    ppm = equal_ppm(wanted_ppm, of=wanted_of, given_as=powder_of)
    mg = weigh_mg(ppm, volume_ml=volume_ml, purity_share=purity_share)
    weight = figure(mg / 1000, unit="g", places=4)
    return WorkedSum(
        sentence=f"Weigh {weight} of {powder_of.name} and make it up to "
        f"{figure(volume_ml, unit='ml')}.",
        lines=(
            ("In milligrams", figure(mg, unit="mg", places=2)),
            (f"As {powder_of.name}", figure(ppm, unit="ppm", places=2)),
        ),
        advisories=(
            _AUTHORISED,
            *use_advisories(wanted_ppm, soak=soak),
            *solubility_advisories(powder_of, ppm=ppm, solvent_share=0.0),
        ),
    )


def bulk_answer(*, mass_kg: float, density_g_l: float) -> WorkedSum:
    """Return the litres of a mass of medium by its bulk density (g per litre)."""
    litres = bulk_litres(mass_kg, density_g_l=density_g_l)
    return WorkedSum(
        sentence=f"It is {figure(litres, unit='l')} of medium.",
        lines=(
            ("Mass", figure(mass_kg, unit="kg", places=3)),
            ("Bulk density", figure(density_g_l, unit="g/l")),
        ),
        advisories=(
            Advisory(
                field="",
                sentence=(
                    "Quantity by EN 12580: mass divided by bulk density. It is that at filling, "
                    "and settles later. It is not for plugs and blocks sold by their size, nor "
                    "where over 10 % of the volume are pieces of more than 60 mm."
                ),
                standing="EN 12580:2022, by catalogue pages of the standard",
            ),
        ),
    )


def porosity_answer(*, container_ml: float, saturation_ml: float, drained_ml: float) -> WorkedSum:
    """Return pores, air and water of a medium in its container, in per cent of the container.

    Raises:
        NotAccepted: not drained <= saturation <= container.
    """
    found = container_porosity(
        container_ml=container_ml, saturation_ml=saturation_ml, drained_ml=drained_ml
    )
    air = figure(found.air_share * 100, unit="%")
    return WorkedSum(
        sentence=f"Air fills {air} of the container.",
        lines=(
            ("Pores, of the container", figure(found.total_share * 100, unit="%")),
            ("Air, of the container", air),
            ("Water, of the container", figure(found.water_share * 100, unit="%")),
            ("Air, of the pores", figure(found.air_of_pores_share * 100, unit="%")),
        ),
        advisories=(
            Advisory(
                field="",
                sentence=f"By the {METHOD}. It holds for this container only: in a shallower one "
                "the same medium keeps less air.",
                standing="University of Florida and Purdue University, container method",
            ),
        ),
    )


def _with_bags(litres: float, *, bag_litres: float | None) -> str:
    shown = figure(litres, unit="l")
    if bag_litres is None:
        return shown
    bags = whole_bags(litres, bag_litres=bag_litres)
    return f"{shown}: {bags:,} {'bag' if bags == 1 else 'bags'} of {bag_litres:g} l"
