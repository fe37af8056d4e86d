"""Every page that a head can open, at three widths: on a small log and on a fresh one.

The routes are taken from the application itself, so that a new page is tried without being named;
only where an address needs the id of a record does the table below give one.
"""

import re
from pathlib import Path

import pytest
from playwright.sync_api import Error

from app import create_app
from app.settings import Settings
from tests.journeys import told_log
from tests.journeys.conftest import Opened
from tests.journeys.page_rules import BY_THE_BENCH, TARGET, page_faults

pytestmark = pytest.mark.browser

# What stands for the id of a record, by how the address begins.
IDS = {
    "/batches/<code>": told_log.STORY,
    "/benches/<int:bench_id>": "1",
    "/check-plans/genera/<int:genus_id>": "1",
    "/checks/<int:check_id>": "1",
    "/containers/<int:container_id>": "1",
    "/genera/<name>": "Hebe",
    "/liner-lots/<code>": "L-0001",
    "/liner-stages/<int:stage_id>": "2",
    "/calendar/<token>": "1-no-such-secret",
    "/label-numbers/<code>": "N-0002",
    "/labels/<kind>": "batches",
    "/lost-causes/<int:cause_id>": "1",
    "/holds/<code>/lift/<int:item_id>": "H-0001",
    "/dispatches/<code>": "G-0001",
    "/holds/<code>": "H-0001",
    "/lines/<code>": "S-0001",
    "/method-cards/<int:card_id>/versions/<int:number>": "1",
    "/method-cards/<int:card_id>": "1",
    "/mix-lots/<code>/used/<batch_code>": "M-0001",
    "/mix-lots/<code>": "M-0001",
    "/mixes/<int:mix_id>": "1",
    "/people/<key>": "key-of-trainee",
    "/photographs/<int:photograph_id>": "1",
    "/photographs/files/<sha256>": "no-such-file",
    "/plan/board/<int:line_id>": "1",
    "/plan/orders/<int:number>": "1",
    "/plant-names/<int:plant_name_id>": "1",
    "/practicals/<code>": "D-0001",
    "/records/export/<kind>": "batches",
    "/records/import/<int:stage_id>": "1",
    "/stock-plants/<code>/events/new/<kind>": "S-0001",
    "/stock-plants/<code>/events/<int:event_id>": "1",
    "/plant-passports/<code>": "P-0001",
    "/sign-offs/<int:sign_off_id>": "1",
    "/round-sheets/<int:number>": "1",
    "/stock-plants/<code>": "S-0001",
    "/strike-rates/sheet.<ending>": "csv",
    "/treatments/<code>": "T-0001",
    "/times-to-root/<int:genus_id>": "1",
    "/to/<code>": told_log.STORY,
}
# Other states of the same pages.
MORE = (
    "/?order=cost",
    f"/batches/{told_log.UNSEEN}",
    f"/batches/{told_log.VOID}",
    f"/batches/{told_log.VOID}/checks/new",
    f"/batches/{told_log.FINISHED}",
    f"/batches/{told_log.FINISHED}/checks/new",
    f"/batches/{told_log.CLEARED}",
    f"/batches/{told_log.RESTUCK}",
    f"/batches/{told_log.LINED_OUT}",
    f"/batches/new?like={told_log.STORY}&again=yes",
    f"/batches/new?restick={told_log.STORY}",
    "/batches?state=late",
    "/benches/house?on=-5",
    "/benches/1/day?on=-5",
    "/benches/1/day?on=never",
    "/batches?q=nothing+like+it",
    "/checks/3",
    "/checks/new?code=26-9999",
    "/calculators/dilution?wanted=3000&stock=2000&volume=500+ml&solvent=0",
    "/calculators/mixing?parts=bark+3&litres=600",
    "/holds?lifted=yes",
    "/holds/new?code=S-0001&since_on=-20",
    f"/holds/new?code={told_log.STORY}",
    f"/lines/{told_log.STORY}",
    "/method-cards/29",
    f"/batches/{told_log.POTTED}",
    f"/batches/{told_log.POTTED}/after-rooting/new?stage=lost",
    f"/batches/{told_log.STORY}/after-rooting/new?stage=weaning+begun",
    "/liner-lots?which=empty",
    "/liner-lots?find=nothing+like+it",
    "/liner-lots/L-0002",
    "/liner-lots/L-0005",
    "/liner-lots/L-0004",
    "/liner-lots/L-0004/merge",
    "/liner-lots/L-0004/stages/new?stage=sent+out",
    "/liner-lots/L-0001/stages/new?stage=ready",
    "/liner-lots/L-0001/stages/new?stage=potted+on",
    "/liner-lots/L-0001/stages/new?stage=kept+as+stock+plants",
    "/batches/new?tag=N-0002",
    "/label-numbers/N-0001",
    f"/labels/batches?codes={told_log.STORY}+{told_log.UNSEEN}&per_tray=y",
    "/labels/batches?codes=26-0001+to+26-9999&start=25&sheet=own&label_w=3",
    "/labels/benches?codes=B-0002,Mist+bench+2",
    "/mix-lots/new?mix=1&litres=600",
    "/practicals/D-0002",
    "/practicals/D-0003",
    "/practicals/new?card=1",
    f"/mix-lots/M-0001/used/{told_log.UNSEEN}",
    "/mixes/1?litres=600",
    "/no-such-page",
    "/plant-passports/new?batch=26-0002",
    "/plant-passports/P-0002",
    "/plan/how-many?plant=Hebe+%27Great+Orme%27&plants=120&due_on=week+24",
    "/plan/how-many?plant=Hebe&plants=none",
    "/plan/in-season?month=8",
    "/plan/orders/1?sure=97&batches=6&month=2",
    "/plan/season?trays=none",
    "/plan/prepare?orders=1",
    "/plan/prepare?lines-0-plant=Hebe&lines-0-cuttings=90&lines-0-hormone=IBA+dip+1000+ppm",
    "/people/key-of-head",
    "/photographs/3",
    "/photographs/4",
    "/records/import/1?show=new",
    "/round?bench=1",
    "/round?first=26-9999",
    f"/round?first={told_log.UNSEEN}",
    "/round-sheets/2/entry",
    "/search?q=hebe",
    "/search?q=nothing+like+it",
    f"/stick/new?like={told_log.STORY}",
    "/stick/new?plant=S-0001",
    "/stick?plant=S-9999",
    f"/stock-plants/{told_log.HELD}",
    f"/stock-plants/{told_log.HELD}/events/new/counted",
    f"/stock-plants/{told_log.HELD}/events/new/inspected",
    f"/stock-plants/{told_log.HELD}/events/new/tested",
    "/stock-plants/S-0001/events/1/withdraw",
    "/stock-plants?state=on+hold",
    f"/stock-plants/{told_log.DISCARDED}",
    "/strike-rates?by=genus&and=month",
    "/strike-rates?by=plant",
    "/strike-rates?by=genus&genus=Zelkova",
    "/strike-rates?by=genus&since=never",
    "/strike-rates/batches?genus=Hebe",
    "/strike-rates/compare?by=hormone&one=IBA+talc+1000+ppm&other=IBA+talc+3000+ppm",
    "/strike-rates/compare?by=hormone&one=IBA+talc+1000+ppm&other=IBA+talc+1000+ppm",
    "/strike-rates/standing-out?by=person",
    "/strike-rates/standing-out?since=never",
    "/strike-rates/worked-out?genus=Hebe",
)
# Where a wet thumb works.
BENCH_SIDE = re.compile(
    r"^/(\?.*)?$|^/batches/new|^/batches/[^/]+/checks/new|^/checks/new|/walk$"
    r"|^/round\b(?!-)|^/stick\b(?!-)|^/waiting"
    r"|/photographs/new$"
)


def _routes() -> list[str]:
    app = create_app(Settings(data=Path("nowhere"), secret_key="for tests only", testing=True))
    rules = [rule for rule in app.url_map.iter_rules() if rule.endpoint != "static"]
    return sorted(rule.rule for rule in rules if "GET" in (rule.methods or ()))


def _address(route: str) -> str:
    for begins, example in IDS.items():
        if route.startswith(begins):
            return re.sub(r"<[^>]*>", example, begins) + route.removeprefix(begins)
    return route


TOLD = (*map(_address, _routes()), *MORE)
FRESH = [route for route in _routes() if "<" not in route]


def _faults(opened: Opened, address: str) -> list[str]:
    opened.site.troubles.clear()
    try:
        answer = opened.page.goto(address)
    except Error as error:
        # A sheet or a backup is no page.
        assert "Download is starting" in error.message
        return []
    assert answer is not None
    if "text/html" not in answer.headers["content-type"]:
        return []
    least = BY_THE_BENCH if BENCH_SIDE.search(address) else TARGET
    return [*page_faults(opened.page, least=least), *opened.site.troubles]


@pytest.mark.parametrize("address", TOLD)
def test_pages_of_a_small_log(told: Opened, address: str) -> None:
    assert "<" not in address, f"Give {address} an id in the table above."
    faults = _faults(told, address)
    assert not faults, "\n".join(faults)


@pytest.mark.parametrize("address", FRESH)
def test_pages_of_a_fresh_log(fresh: Opened, address: str) -> None:
    faults = _faults(fresh, address)
    assert not faults, "\n".join(faults)


def test_the_rules_find_what_they_are_for(fresh: Opened) -> None:
    fresh.page.goto("/sign-in")
    fresh.page.evaluate(
        """() => {
            const main = document.querySelector("main");
            main.innerHTML = "<h1>One</h1><h1>Two</h1><p><a href='/'>.</a></p><img src='https://elsewhere.example/x'>"
                + "<div class='far'>far too wide</div><button>unseen ring</button>";
            main.querySelector(".far").style.width = "2000px";
            main.querySelector("button").style.outline = "none";
        }"""
    )
    faults = "\n".join(page_faults(fresh.page))
    for fault in (
        "320 px: 20",
        "2 headings",
        "by 27 px",
        "image-alt",
        "not show that it has the focus",
    ):
        assert fault in faults
    assert "elsewhere.example" in "".join(fresh.site.troubles)
    fresh.site.troubles.clear()
