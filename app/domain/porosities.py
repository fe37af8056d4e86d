"""Porosity of a medium in its container: pores, air and water as shares of the container's volume.

The container method: the holes are taped and the volume filled with the dry medium is measured;
the water that saturates it is the volume of its pores; the water that runs out once the holes are
opened is its air. Air depends on the height of the container, so a result holds for its container
only.
"""

from dataclasses import dataclass
from typing import Final

from app.domain.problems import NotAccepted, Problem

LARGEST_ML: Final = 100_000.0
METHOD: Final = (
    "container method: tape the holes, fill with dry medium, pour in water until it stands level "
    "with the top (saturation), open the holes and catch what drains"
)


@dataclass(frozen=True, kw_only=True)
class Porosity:
    """Shares of 0 to 1: pores, air and water of the container, and air of the pores.

    total_share = air_share + water_share.
    """

    total_share: float
    air_share: float
    water_share: float
    air_of_pores_share: float


def container_porosity(*, container_ml: float, saturation_ml: float, drained_ml: float) -> Porosity:
    """Return the porosity from the container's volume and the water to saturate and drained, in mL.

    Raises:
        NotAccepted: a volume is not above zero, or not drained <= saturation <= container; by the
            fields `container_ml`, `saturation_ml`, `drained_ml`.
    """
    problems = []
    if not 0 < container_ml <= LARGEST_ML:
        sentence = f"Give the volume of the container in mL, above 0 and up to {LARGEST_ML:,.0f}."
        problems.append(Problem(field="container_ml", sentence=sentence))
    elif not 0 < saturation_ml <= container_ml:
        sentence = (
            f"The water to saturate the medium is above 0 and no more than the container holds, "
            f"{container_ml:,g} mL."
        )
        problems.append(Problem(field="saturation_ml", sentence=sentence))
    elif not 0 <= drained_ml <= saturation_ml:
        sentence = f"No more can drain than went in, {saturation_ml:,g} mL."
        problems.append(Problem(field="drained_ml", sentence=sentence))
    if problems:
        raise NotAccepted(tuple(problems))
    return Porosity(
        total_share=saturation_ml / container_ml,
        air_share=drained_ml / container_ml,
        water_share=(saturation_ml - drained_ml) / container_ml,
        air_of_pores_share=drained_ml / saturation_ml,
    )


def weighed_porosity(
    *, container_ml: float, dry_g: float, saturated_g: float, drained_g: float
) -> Porosity:
    """Return the porosity from weights in grams instead: filled dry, saturated, and drained.

    The same container stands on the scales each time; a gram of water is taken as a millilitre.

    Raises:
        NotAccepted: the weights are not dry <= drained <= saturated, by the fields `dry_g`,
            `drained_g`, `saturated_g`; or the volumes they make cannot be.
    """
    if dry_g < 0:
        raise NotAccepted.at("dry_g", "Give the weight filled with dry medium, in grams.")
    if saturated_g <= dry_g:
        raise NotAccepted.at("saturated_g", "Saturated it weighs more than dry.")
    if not dry_g <= drained_g <= saturated_g:
        sentence = "Drained it weighs no less than dry and no more than saturated."
        raise NotAccepted.at("drained_g", sentence)
    return container_porosity(
        container_ml=container_ml,
        saturation_ml=saturated_g - dry_g,
        drained_ml=saturated_g - drained_g,
    )
