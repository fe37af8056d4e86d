"""What each cut gave from a plant: own arithmetic."""

from app.domain.cut_yields import CutYield, yield_sentence
from tests.conftest import TODAY


def cut(number: int | None, plants: int = 4) -> CutYield:
    return CutYield(cut_on=TODAY, number=number, plants=plants)


def test_cuttings_are_told_from_a_plant() -> None:
    assert cut(30).per_plant == 7.5
    assert cut(None).per_plant is None
    assert yield_sentence([cut(None)], expected=9.0) == ""
    assert (
        yield_sentence([cut(30)], expected=None)
        == "The one cut on record gave 7.5 cuttings from a plant."
    )
    assert yield_sentence([cut(30), cut(None), cut(50, 5)], expected=9.0) == (
        "The 2 cuts on record gave 7.5 to 10 cuttings from a plant, 8.8 on the average; 9 are "
        "expected."
    )
