"""Strike rates on pages: the question, squares that open their batches, picture, sheets, sight."""

import csv
import io
import re
from collections.abc import Callable
from datetime import date
from html import unescape
from pathlib import Path

import pytest
from flask.testing import FlaskClient
from python_calamine import CalamineWorkbook

from app.domain.people import Role
from app.domain.strike_rates_answers import FIGURES
from app.store.models.liner_lots import LinerFacts
from app.store.session import Database
from tests.domain.rate_batches import Counts
from tests.store.rate_records import RateRecords

BARTLETT = Path(__file__).parent.parent / "data" / "bartlett_plum_root_cuttings.csv"
SignIn = Callable[[Role], FlaskClient]
GOOD = Counts(rooted=20, lost=10)


@pytest.fixture
def filled(database: Database) -> Database:
    """Hebe finished in three batches, Cistus young in one, hardwood Salix taken in December."""
    with database.writing() as session:
        records = RateRecords(session=session)
        for day in (1, 2, 3):
            records.add_batch(
                GOOD, plant="Hebe 'Invented'", stuck_on=date(2026, 4, day), person="Ines Farrow"
            )
        records.add_batch(
            Counts(rooted=201, lost=64, unrooted=147, counted_at=40),
            plant="Cistus purpureus",
            cutting_type="semi-ripe",
            hormone="IBA talc 1000 ppm",
            person="Tomas Quill",
            sources=("S-0031", "S-0032"),
        )
        records.add_batch(
            Counts(rooted=8, lost=2),
            plant="Salix alba",
            cutting_type="hardwood",
            taken_on=date(2025, 12, 9),
            stuck_on=date(2026, 2, 9),
        )
    return database


def page(client: FlaskClient, address: str, *, status: int = 200) -> str:
    answer = client.get(address)
    assert answer.status_code == status
    return unescape(answer.get_data(as_text=True))


def words(html: str) -> str:
    inline = re.sub(r"</?(?:a|b|i|span)\b[^>]*>", "", html)
    return " ".join(re.sub(r"<[^>]+>", " ", inline).split())


def links(html: str) -> list[str]:
    return re.findall(r'href="(/strike-rates/batches[^"]*)"', html)


def test_plants_ready_are_asked_for_by_the_same_names(sign_in: SignIn, filled: Database) -> None:
    with filled.writing() as session:
        session.add(LinerFacts(batch_id=1, taken=20, ready=15, lost=5, growing=0))
    browser = sign_in(Role.MANAGER)
    html = page(browser, "/strike-rates?rate=ready&by=genus&and=cutting_type")
    said = words(html)
    assert "Plants ready per cutting stuck by genus and cutting type: 5 batches" in said
    assert "3 batches, 90 stuck 15 ready, 35 lost, 40 rooting or growing on" in said
    assert '<option selected value="ready">' in html
    behind = next(link for link in links(html) if "Hebe" in link)
    assert "rate=ready" in behind
    listed = words(page(browser, behind))
    assert "15 ready, 5 lost" in listed
    assert "20 not ready yet" in listed
    worked_out = page(browser, behind.replace("/batches?", "/worked-out?"))
    assert "ready / stuck, and (ready + without an outcome) / stuck" in words(worked_out)
    answer = browser.get("/strike-rates/sheet.csv?rate=ready&by=genus")
    assert "plants-ready-by-genus" in answer.headers["Content-Disposition"]
    rows = list(csv.DictReader(io.StringIO(answer.get_data(as_text=True).removeprefix("\ufeff"))))
    assert [row["rooted"] for row in rows if row["genus"] == "Hebe"] == ["15"]
    page(browser, "/strike-rates?rate=sold", status=422)


@pytest.mark.usefixtures("filled")
def test_the_first_view_answers_by_genus_and_cutting_type(sign_in: SignIn) -> None:
    html = page(sign_in(Role.MANAGER), "/strike-rates")
    said = words(html)
    assert "Strike rate by genus and cutting type: 5 batches, 512 cuttings." in said
    assert "67 % (45 to 83 %) 3 batches, 90 stuck 60 rooted, 30 lost finished" in said
    assert (
        "at worst 49 %, at best 84 % few: 1 batch, 412 stuck 201 rooted, 64 lost, 147 unrooted"
        " not all known"
    ) in said
    assert "no data" in said
    assert "a correlation of 0.12" in said
    assert "Tells us as much as" in said
    assert said.index("Cistus 1 412") < said.index("Hebe 3 90") < said.index("Salix 1 10")


@pytest.mark.usefixtures("filled")
def test_every_square_opens_exactly_its_batches(sign_in: SignIn) -> None:
    client = sign_in(Role.HEAD)
    html = page(client, "/strike-rates?by=genus&and=month")
    found = links(html)
    assert len(found) == 3
    behind = [words(page(client, address)) for address in found]
    assert [re.findall(r"\b26-\d{4}\b", said) for said in behind] == [
        ["26-0004"],
        ["26-0003", "26-0002", "26-0001"],
        ["26-0005"],
    ]
    assert "Strike rate, genus Hebe, month April." in behind[1]
    assert "Of 90 stuck 60 rooted, 30 lost: 67 % (45 to 83 %)." in behind[1]
    assert "1 to 3 of 3" in behind[1]
    assert "Few: only 1 batch." in behind[0]


@pytest.mark.usefixtures("filled")
def test_one_name_gives_a_list_with_every_count(sign_in: SignIn) -> None:
    said = words(page(sign_in(Role.MANAGER), "/strike-rates?by=plant&and="))
    assert "Cistus purpureus at worst 49 %, at best 84 % few not all known 1 412 201 64" in said
    assert "Hebe ‘Invented’ 67 % (45 to 83 %) finished 3 90 60 30 0 0 0 20" in said


@pytest.mark.usefixtures("filled")
def test_the_picture_says_the_same_numbers(sign_in: SignIn) -> None:
    client = sign_in(Role.MANAGER)
    for address, cells in (
        ("/strike-rates?by=genus", ["67 %", "80 %", "49 to 84 %"]),
        ("/strike-rates?by=genus&and=month", ["67", "80", "49–84", "Apr", "Feb"]),
    ):
        html = page(client, address)
        drawn = re.search(r'<svg class="rates".*?</svg>', html, re.DOTALL)
        assert drawn
        texts = re.findall(r"<text[^>]*>([^<]*)</text>", drawn[0])
        assert set(cells) <= set(texts)
        assert drawn[0].count('class="point"') == 2
        assert drawn[0].count('fill="url(#hatch)"') == 1
        assert drawn[0].count('class="few"') == 2
        assert "style=" not in drawn[0]


@pytest.mark.usefixtures("filled")
def test_hardwood_goes_by_the_month_of_taking_unless_chosen(sign_in: SignIn) -> None:
    client = sign_in(Role.MANAGER)
    asked = "/strike-rates?by=month&cutting_type=hardwood"
    usual = words(page(client, asked))
    assert "December 80 %" in usual
    assert "go by the day of taking" in usual
    assert "February 80 %" in words(page(client, f"{asked}&day_of=stuck"))
    (link,) = links(page(client, asked))
    assert "26-0005" in page(client, link)


@pytest.mark.usefixtures("filled")
def test_filters_stand_in_the_form_and_can_be_left_out(sign_in: SignIn) -> None:
    client = sign_in(Role.MANAGER)
    html = page(client, "/strike-rates?by=month&genus=hebe&genus=Salix&month=4&since=2026")
    assert "90 cuttings" in words(html)
    assert '<input type="hidden" name="genus" value="Salix">' in html
    assert re.search(r'<input[^>]*name="genus"[^>]*value="hebe"', html)
    assert re.search(r'<option selected value="4">April</option>', html)
    without = re.findall(r'href="(/strike-rates\?[^"]*)">leave out<', html)
    assert len(without) == 3
    assert "month=4" not in without[2]
    assert "genus=hebe" in without[2]


@pytest.mark.parametrize(
    ("asked", "sentence"),
    [
        ("by=genus&genus=Hebbe", 'There is no genus "Hebbe" in the log. Did you mean "Hebe"?'),
        ("by=genus&and=genus", "Ask by genus once"),
        ("by=species", 'There is no name "species" to ask by.'),
        ("by=genus&since=soon", "Give a day such as"),
        ("by=genus&since=2026&until=2025", "not before the first, 2026-01-01"),
        ("by=genus&day_of=counted", "Choose the day of sticking or of taking."),
        ("by=genus&method=softwood", "Write a method as cutting type, comma, hormone"),
    ],
)
@pytest.mark.usefixtures("filled")
def test_what_cannot_be_answered_is_said_beside_the_field(
    sign_in: SignIn, asked: str, sentence: str
) -> None:
    client = sign_in(Role.MANAGER)
    html = page(client, f"/strike-rates?{asked}", status=422)
    assert sentence in html
    assert "<title>Error: Strike rates" in html
    if "and=" not in asked and "by=species" not in asked:
        assert sentence in page(client, f"/strike-rates/batches?{asked}", status=422)
    assert sentence in page(client, f"/strike-rates/sheet.csv?{asked}", status=422)


def test_nothing_stuck_says_what_will_be_here(sign_in: SignIn) -> None:
    assert "No data: no batch has been stuck yet." in page(sign_in(Role.HEAD), "/strike-rates")
    assert "Stick the first batch" not in page(sign_in(Role.MANAGER), "/strike-rates")


@pytest.mark.usefixtures("filled")
def test_no_batch_that_answers_says_no_data(sign_in: SignIn) -> None:
    client = sign_in(Role.HEAD)
    asked = "by=genus&since=2026-06-01&restuck=only"
    html = page(client, f"/strike-rates?{asked}")
    assert "No data: no batch answers to this." in html
    assert "only batches re-stuck from another" in html
    assert "No data." in page(client, f"/strike-rates/batches?{asked}")


@pytest.mark.usefixtures("filled")
def test_sheets_hold_exactly_what_is_shown(sign_in: SignIn) -> None:
    client = sign_in(Role.MANAGER)
    html = page(client, "/strike-rates?by=genus&and=month&cutting_type=softwood")
    (as_csv,) = re.findall(r'href="(/strike-rates/sheet\.csv[^"]*)"', html)
    (as_xlsx,) = re.findall(r'href="(/strike-rates/sheet\.xlsx[^"]*)"', html)
    answer = client.get(as_csv)
    assert answer.headers["Content-Disposition"] == (
        'attachment; filename="strike-rates-by-genus-and-month.csv"'
    )
    (row,) = csv.DictReader(io.StringIO(answer.get_data().decode("utf-8-sig")))
    assert list(row) == ["genus", "month", *FIGURES]
    assert (row["genus"], row["month"], row["stuck"], row["rooted"]) == ("Hebe", "4", "90", "60")
    assert (row["strike_share"], row["basis"]) == ("0.666667", "finished")
    book = CalamineWorkbook.from_filelike(io.BytesIO(client.get(as_xlsx).get_data()))
    head, figures = book.get_sheet_by_index(0).to_python()
    assert head == list(row)
    assert figures[:4] == ["Hebe", 4.0, 3.0, 90.0]
    assert client.get("/strike-rates/sheet.pdf").status_code == 404


def test_text_that_looks_a_formula_is_guarded(sign_in: SignIn, database: Database) -> None:
    with database.writing() as session:
        RateRecords(session=session).add_batch(GOOD, mix="=1+1")
    answer = sign_in(Role.MANAGER).get("/strike-rates/sheet.csv?by=mix")
    assert "\r\n'=1+1,1,30" in answer.get_data().decode("utf-8-sig")


@pytest.mark.usefixtures("filled")
def test_trainees_see_figures_by_person_for_themselves_only(sign_in: SignIn) -> None:
    client = sign_in(Role.TRAINEE)
    html = page(client, "/strike-rates?by=person")
    table = re.search(r"<tbody>.*?</tbody>", html, re.DOTALL)
    assert table
    assert "Tomas Quill" in table[0]
    assert "Ines Farrow" not in html
    assert "shown to you for yourself only" in html
    assert "sheet.csv" not in html
    (link,) = links(html)
    assert re.findall(r"\b26-\d{4}\b", words(page(client, link))) == ["26-0004"]
    for address in ("/strike-rates", "/strike-rates/batches"):
        refused = page(client, f"{address}?by=genus&person=Ines+Farrow", status=422)
        assert "You can see figures by person for yourself only." in refused
    assert client.get("/strike-rates/sheet.csv?by=person").status_code == 403


@pytest.mark.usefixtures("filled")
def test_head_and_manager_see_everybody(sign_in: SignIn) -> None:
    for role in (Role.HEAD, Role.MANAGER):
        said = words(page(sign_in(role), "/strike-rates?by=person"))
        assert "Ines Farrow 67 %" in said
        assert "Tomas Quill at worst" in said


@pytest.mark.usefixtures("filled")
def test_a_batch_from_two_plants_is_said_to_count_in_both(sign_in: SignIn) -> None:
    said = words(page(sign_in(Role.HEAD), "/strike-rates?by=stock_plant&genus=Cistus"))
    assert "1 batch, 412 cuttings." in said
    assert "S-0031 at worst" in said
    assert "S-0032 at worst" in said
    assert "a batch taken from two counts in both" in said


def test_plum_root_cuttings_on_the_page(sign_in: SignIn, database: Database) -> None:
    # Bartlett (1935) J. R. Statist. Soc. Suppl. 2:248-252; Hand et al. (1994) no. 19. CONFIRMED.
    source = BARTLETT.read_text(encoding="utf-8").splitlines()
    with database.writing() as session:
        records = RateRecords(session=session)
        for row in csv.DictReader(line for line in source if not line.startswith("#")):
            records.add_batch(
                Counts(rooted=int(row["alive"]), lost=int(row["dead"])),
                plant="Prunus domestica",
                cutting_type="root",
                mix=row["length"],
                stuck_on=date(2025, 10, 9) if row["time"] == "now" else date(2026, 3, 9),
            )
    said = words(page(sign_in(Role.HEAD), "/strike-rates?by=mix&and=month"))
    for figure, rooted in (("65", 156), ("45", 107), ("35", 84), ("13", 31)):
        counts = f"few: 1 batch, 240 stuck {rooted} rooted, {240 - rooted} lost finished"
        assert re.search(rf"{figure} % \(\d+ to \d+ %\) {counts}", said)


def test_a_second_name_with_many_values_stands_below(sign_in: SignIn, database: Database) -> None:
    with database.writing() as session:
        records = RateRecords(session=session)
        for place in range(130):
            records.add_batch(GOOD, plant=f"Hebe 'Number {place:03d}'")
    client = sign_in(Role.HEAD)
    html = page(client, "/strike-rates?by=month&and=plant")
    assert "too many of the second name" in html
    assert html.count('<td class="number" data-head="stuck">30</td>') == 50
    (later,) = re.findall(r'rel="next" href="([^"]*)"', html)
    second = page(client, later)
    assert second.count('<td class="number" data-head="stuck">30</td>') == 50
    assert "Part 2 of 3" in second
    (earlier,) = re.findall(r'rel="prev" href="([^"]*)"', second)
    assert "Number 000" in page(client, earlier)
    assert "Number 129" in page(client, "/strike-rates?by=month&and=plant&page=99")
    assert "Part 1 of 3" in page(client, "/strike-rates?by=month&and=plant&page=-1")
    rows = client.get("/strike-rates/sheet.csv?by=month&and=plant").get_data().decode("utf-8-sig")
    assert len(rows.splitlines()) == 131


def test_batches_behind_turn_pages(sign_in: SignIn, database: Database) -> None:
    with database.writing() as session:
        records = RateRecords(session=session)
        for _ in range(101):
            records.add_batch(GOOD)
    client = sign_in(Role.HEAD)
    first = page(client, "/strike-rates/batches?genus=Hebe")
    assert "1 to 100 of 101" in first
    (later,) = re.findall(r'rel="next" href="([^"]*)"', first)
    last = page(client, later)
    assert "101 to 101 of 101" in last
    assert "26-0001" in last
    assert 'rel="next"' not in last
