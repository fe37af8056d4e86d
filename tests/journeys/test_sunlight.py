"""The pages for the bench in sunlight: high contrast, larger text, and the same page rules.

WCAG 2.2, success criteria 1.4.4 (text that is larger) and 1.4.10 (reflow) hold with it too.
"""

from collections.abc import Iterator

import pytest

from tests.journeys import told_log
from tests.journeys.conftest import Opened
from tests.journeys.page_rules import BY_THE_BENCH, page_faults

pytestmark = pytest.mark.browser

LARGER = 1.125
ADDRESSES = (
    "/",
    "/round",
    "/round?first=26-9999",
    "/stick",
    "/stick/new?plant=S-0001",
    f"/batches/{told_log.STORY}/checks/new",
    "/benches/1/walk",
    "/waiting",
)


@pytest.fixture
def sunlit(told: Opened) -> Iterator[Opened]:
    """The small log on a device whose switch is on; off again afterwards."""
    told.page.goto("/")
    told.page.evaluate("localStorage.setItem('strikewell:sunlight', 'on')")
    yield told
    told.page.evaluate("localStorage.removeItem('strikewell:sunlight')")


@pytest.mark.parametrize("address", ADDRESSES)
def test_pages_for_the_bench_in_sunlight(sunlit: Opened, address: str) -> None:
    sunlit.site.troubles.clear()
    sunlit.page.goto(address)
    faults = [*page_faults(sunlit.page, least=BY_THE_BENCH), *sunlit.site.troubles]
    assert not faults, "\n".join(faults)


def test_text_is_larger_in_sunlight(sunlit: Opened) -> None:
    page = sunlit.page
    size = "parseFloat(getComputedStyle(document.querySelector('main p')).fontSize)"
    page.goto("/waiting")
    large = page.evaluate(size)
    page.evaluate("document.documentElement.classList.remove('sunlight')")
    assert large == pytest.approx(LARGER * page.evaluate(size), rel=0.01)
