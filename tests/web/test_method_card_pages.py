"""What stands on a method card beside its values: steps, what was found, what was printed."""

import csv
import html
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from flask.testing import FlaskClient
from sqlalchemy.orm import Session

from app.domain.cutting_types import CuttingType
from app.domain.people import Actor, Role
from app.domain.plant_names import parse_plant_name
from app.services.method_cards import load_starting_cards
from app.services.plant_names import keep_plant_name
from app.store.queries.method_cards import find_card
from app.store.session import Database
from tests.conftest import NOW
from tests.services.finished_records import add_finished

SignIn = Callable[[Role], FlaskClient]
PRINTED = Path(__file__).parent.parent / "data" / "published_rooting.csv"


@pytest.fixture
def address(database: Database) -> Callable[..., str]:
    """The starting cards put in; gives the address of one."""
    with database.writing() as session:
        load_starting_cards(session, now=NOW)

    def find(genus: str, cutting_type: CuttingType = CuttingType.SEMI_RIPE, **more: str) -> str:
        with database.reading() as session:
            asked = {"species": "", **more}
            card = find_card(session, genus=genus, cutting_type=cutting_type, **asked)
        assert card is not None
        return f"/method-cards/{card.id}"

    return find


Address = Callable[..., str]


def page(browser: FlaskClient, address: str) -> str:
    answer = browser.get(address)
    assert answer.status_code == 200
    return html.unescape(" ".join(answer.get_data(as_text=True).split()))


def named(session: Session, head: Actor, plain: str) -> int:
    return keep_plant_name(session, actor=head, now=NOW, name=parse_plant_name(plain).name)


def found_in(text: str) -> str:
    return text.partition("What this nursery has found")[2].partition("What was published")[0]


def test_each_step_has_its_reason_and_each_trouble_its_signs(
    sign_in: SignIn, address: Address
) -> None:
    shown = page(sign_in(Role.TRAINEE), address("Fuchsia", CuttingType.SOFTWOOD))
    assert "Strip the lower third" in shown
    assert "A leaf below the surface rots" in shown
    assert "Wilting" in shown
    assert "Leaves hang and curl" in shown
    assert "Where the steps come from: <small>common practice, no source" in shown
    assert "sheet A 50" in shown


def test_every_published_row_of_the_genus_is_on_its_card_as_printed(
    sign_in: SignIn, address: Address
) -> None:
    shown = page(sign_in(Role.TRAINEE), address("Ilex"))
    lines = PRINTED.read_text(encoding="utf-8").splitlines(keepends=True)
    rows = [
        row
        for row in csv.DictReader(line for line in lines if not line.startswith("#"))
        if row["genus"] == "Ilex"
    ]
    assert f"{len(rows)} published rows" in shown
    cells = re.findall(r"<tr><th scope=\"row\">(.*?)</tr>", shown.partition("published rows")[2])
    assert len(cells) == len(rows)
    for cell, row in zip(cells, rows, strict=True):
        for name in ("species_or_cultivar", "cutting_type", "month_or_season", "treatment"):
            assert (row[name] or "not printed") in cell
        assert row["locator"] in cell
        if row["percent_rooted"]:
            assert f"{row['percent_rooted']} %" in cell
        if not row["n_rooted"]:
            assert "without counts, so no interval" in cell or "no percentage" in cell


def test_a_trials_month_is_no_season_and_a_species_speaks_for_itself(
    sign_in: SignIn, address: Address
) -> None:
    browser = sign_in(Role.TRAINEE)
    laurus = page(browser, address("Laurus"))
    assert "April and August" in laurus
    assert "April to August" not in laurus
    assert "not a season" in laurus
    poinsettia = page(browser, address("Euphorbia", CuttingType.SOFTWOOD, species="pulcherrima"))
    assert "the card speaks for no other Euphorbia" in poinsettia
    assert "No published result for exactly Euphorbia pulcherrima" in poinsettia


def test_before_any_batch_it_says_so(sign_in: SignIn, address: Address) -> None:
    shown = page(sign_in(Role.TRAINEE), address("Hebe"))
    assert "Nothing yet: no batch of Hebe, semi-ripe, is in the log." in shown


def test_own_rates_and_days_stand_by_month_and_treatment(
    sign_in: SignIn, address: Address, database: Database, head: Actor
) -> None:
    with database.writing() as session:
        add_finished(session, head, batches=12)
    found = found_in(page(sign_in(Role.TRAINEE), address("Hebe")))
    assert "By month" in found
    assert "By treatment" in found
    assert re.search(r"\d+ % \(\d+ to \d+ %\)", found)
    assert re.search(r"about 2[5-9] days \(\d+ to \d+\), \d+ batch", found)
    behind = re.search(r'<th scope="row"><a href="([^"]+)">', found)
    assert behind
    assert sign_in(Role.TRAINEE).get(behind[1]).status_code == 200


def test_another_species_batches_are_never_a_species_cards_own(
    sign_in: SignIn, address: Address, database: Database, head: Actor
) -> None:
    card = address("Salvia", CuttingType.SOFTWOOD, species="rosmarinus")
    with database.writing() as session:
        sage = named(session, head, "Salvia officinalis")
        add_finished(session, head, batches=12, plant=sage, cutting_type=CuttingType.SOFTWOOD)
    browser = sign_in(Role.TRAINEE)
    assert "Nothing yet" in found_in(page(browser, card))
    with database.writing() as session:
        rosemary = named(session, head, "Salvia rosmarinus")
        add_finished(session, head, batches=2, plant=rosemary, cutting_type=CuttingType.SOFTWOOD)
    own = found_in(page(browser, card))
    assert "2 batches, 120 cuttings" in own or own.count("1 batch, 60 cuttings") == 2
    assert "14 batches" not in own
    assert "14 batches" in found_in(page(browser, address("Salvia", CuttingType.SOFTWOOD)))


def test_an_old_version_stays_readable_with_what_was_changed(
    sign_in: SignIn, address: Address
) -> None:
    head, card = sign_in(Role.HEAD), address("Hebe")
    form = {"weeks": "3 to 7", "steps-0-step": "Cut low.", "steps-0-reason": "Firm wood."}
    assert head.post(f"{card}/edit", data=form | {"version": "1"}).status_code == 303
    second = page(head, f"{card}/versions/2")
    assert "<del>3 to 6 weeks</del> <ins>3 to 7 weeks</ins>" in second
    assert "<ins>Cut low. Firm wood.</ins>" in second
    first = page(head, f"{card}/versions/1")
    assert "Version 2 holds now" in first
    assert "3 to 6 weeks" in first
    assert "What it changed" not in first
    assert head.get(f"{card}/versions/3").status_code == 404
    assert f"{card}/versions/1" in page(head, card)


def test_steps_are_typed_line_by_line_and_more_lines_come_on_asking(
    sign_in: SignIn, address: Address
) -> None:
    head, card = sign_in(Role.HEAD), address("Hebe")
    typed = {"version": "1", "steps-0-step": "Cut low.", "steps-0-reason": "Firm wood."}
    more = head.post(f"{card}/edit", data=typed | {"look_again": "lines"}).get_data(as_text=True)
    assert "Firm wood." in more
    assert 'name="steps-2-step"' in more
    wrong = typed | {"steps-0-step": "", "troubles-0-what": "", "troubles-0-signs": "soft base"}
    answer = head.post(f"{card}/edit", data=wrong)
    assert answer.status_code == 422
    said = answer.get_data(as_text=True)
    assert 'href="#steps-0-step"' in said
    assert 'href="#troubles-0-what"' in said
    assert "soft base" in said


def test_blanks_are_filled_with_what_is_usual_and_keep_its_standing(
    sign_in: SignIn, address: Address
) -> None:
    head = sign_in(Role.HEAD)
    assert "Fill its blanks" not in page(head, address("Hebe"))
    typed = {"genus": "Hebe", "cutting_type": "softwood", "version": "1", "material": "Mine."}
    head.post("/method-cards/new", data=typed)
    card = address("Hebe", CuttingType.SOFTWOOD)
    assert "Fill its blanks with what is usual for softwood" in page(head, card)
    assert head.post(f"{card}/fill").status_code == 303
    filled = page(head, card)
    assert "Strip the lower third" in filled
    assert "<td>Mine.</td><td><small>this nursery</small>" in filled
    assert "Where the steps come from: <small>common practice, no source" in filled
    assert "Fill its blanks" not in filled


def test_all_cards_are_filled_with_one_press(sign_in: SignIn, address: Address) -> None:
    head = sign_in(Role.HEAD)
    assert "Fill their blanks" not in page(head, "/method-cards")
    for genus in ("Hebe", "Fuchsia"):
        typed = {"genus": genus, "cutting_type": "hardwood", "version": "1"}
        assert head.post("/method-cards/new", data=typed).status_code == 303
    assert "2 cards do not say how step by step." in page(head, "/method-cards")
    answer = head.post("/method-cards/fill", follow_redirects=True)
    assert "2 cards say more now" in answer.get_data(as_text=True)
    assert "Fill their blanks" not in page(head, "/method-cards")
    assert "What version 2 changed" in page(head, address("Hebe", CuttingType.HARDWOOD))


def test_a_card_for_one_plant_name_speaks_for_it_alone(
    sign_in: SignIn, address: Address, database: Database, head: Actor
) -> None:
    browser = sign_in(Role.HEAD)
    typed = {"plant": "Hebe 'Great Orme'", "cutting_type": "semi-ripe", "version": "1"}
    unknown = browser.post("/method-cards/new", data=typed)
    assert unknown.status_code == 422
    assert "is not in the log yet" in unknown.get_data(as_text=True)
    with database.writing() as session:
        named(session, head, "Hebe 'Great Orme'")
    assert browser.post("/method-cards/new", data=typed | {"weeks": "5"}).status_code == 303
    again = browser.post("/method-cards/new", data=typed)
    assert "There is a card of Hebe 'Great Orme' for semi-ripe already" in html.unescape(
        again.get_data(as_text=True)
    )
    own = address("Hebe", plant="Hebe 'Great Orme'")
    assert own != address("Hebe", plant="Hebe 'Midsummer Beauty'") == address("Hebe")
    shown = page(browser, own)
    assert "For this plant name only; the card speaks for no other Hebe." in shown
    wide = browser.post("/method-cards/new", data=typed | {"plant": "Hebe"})
    assert "write it under Genus and Species" in wide.get_data(as_text=True)


def test_a_page_to_print_has_the_cautions(sign_in: SignIn, address: Address) -> None:
    sheet = page(sign_in(Role.TRAINEE), f"{address('Taxus', CuttingType.HARDWOOD)}/sheet")
    assert "VERY poisonous" in sheet
    assert "Follow the product label, local rules and licensed practice." in sheet
    assert "Legionella" in sheet
    none = page(sign_in(Role.TRAINEE), f"{address('Cistus')}/sheet")
    assert "no caution recorded" in none
