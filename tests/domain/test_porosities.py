"""Porosity by the container method.

The method: University of Florida EIM, "Alternative test method", and Purdue, "Pore space in
soilless substrates" (CONFIRMED, read on their pages). The numbers of the two examples are our own,
and worked out by hand.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.domain.porosities import container_porosity, weighed_porosity
from app.domain.problems import NotAccepted

LITRES = st.floats(1, 50_000)
SHARES = st.floats(0.01, 1)


@pytest.mark.parametrize(
    ("container", "saturation", "drained", "total", "air", "water", "of_pores"),
    [(1000, 720, 180, 72.0, 18.0, 54.0, 25.0), (380, 266, 57, 70.0, 15.0, 55.0, 100 * 57 / 266)],
)
def test_the_worked_examples(
    container: float, saturation: float, drained: float,
    total: float, air: float, water: float, of_pores: float,
) -> None:  # fmt: skip
    found = container_porosity(container_ml=container, saturation_ml=saturation, drained_ml=drained)
    assert found.total_share * 100 == pytest.approx(total)
    assert found.air_share * 100 == pytest.approx(air)
    assert found.water_share * 100 == pytest.approx(water)
    assert found.air_of_pores_share * 100 == pytest.approx(of_pores)
    weighed = weighed_porosity(
        container_ml=container, dry_g=150, saturated_g=150 + saturation,
        drained_g=150 + saturation - drained,
    )  # fmt: skip
    assert weighed.air_share == pytest.approx(found.air_share)
    assert weighed.water_share == pytest.approx(found.water_share)


@pytest.mark.parametrize(("air", "water"), [(28, 43), (12, 59)])
def test_the_published_effect_of_the_container(air: float, water: float) -> None:
    # J. Environmental Horticulture 5(4):180 (CONFIRMED, abstract): the same media in a no. 1
    # container and in a bedding-plant cell; both sum to 71 % pores.
    found = container_porosity(container_ml=1000, saturation_ml=710, drained_ml=air * 10)
    assert found.water_share * 100 == pytest.approx(water)


@given(container=LITRES, of_container=SHARES, of_pores=SHARES)
def test_air_and_water_add_up(container: float, of_container: float, of_pores: float) -> None:
    saturation = container * of_container
    found = container_porosity(
        container_ml=container, saturation_ml=saturation, drained_ml=saturation * of_pores
    )
    assert found.air_share + found.water_share == pytest.approx(found.total_share)
    assert found.air_of_pores_share == pytest.approx(of_pores)


@pytest.mark.parametrize(
    ("container", "saturation", "drained", "field"),
    [
        (0, 1, 1, "container_ml"),
        (380, 381, 57, "saturation_ml"),
        (380, 0, 0, "saturation_ml"),
        (380, 266, 267, "drained_ml"),
        (380, 266, -1, "drained_ml"),
    ],
)
def test_what_cannot_be_is_refused(
    container: float, saturation: float, drained: float, field: str
) -> None:
    with pytest.raises(NotAccepted) as caught:
        container_porosity(container_ml=container, saturation_ml=saturation, drained_ml=drained)
    (problem,) = caught.value.problems
    assert problem.field == field


@pytest.mark.parametrize(
    ("dry", "saturated", "drained", "field"),
    [
        (-1, 5, 5, "dry_g"),
        (9, 9, 9, "saturated_g"),
        (5, 9, 4, "drained_g"),
        (5, 9, 10, "drained_g"),
    ],
)
def test_weights_that_cannot_be_are_refused(
    dry: float, saturated: float, drained: float, field: str
) -> None:
    with pytest.raises(NotAccepted) as caught:
        weighed_porosity(container_ml=100, dry_g=dry, saturated_g=saturated, drained_g=drained)
    assert caught.value.problems[0].field == field
