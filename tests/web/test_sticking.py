"""The form of a batch as somebody uses it without script."""

import re
from collections.abc import Callable
from dataclasses import replace

import pytest
from flask.testing import FlaskClient
from sqlalchemy import func, select

from app.domain.check_entries import CheckEntry
from app.domain.people import Actor, Role
from app.domain.plant_name_entries import PlantNameEntry
from app.services.batches import correct_batch, stick_batch
from app.services.checks import record_check
from app.services.plant_names import add_plant_name, resolve_plant
from app.store.models.batches import Batch
from app.store.models.benches import Bench
from app.store.models.containers import Container
from app.store.models.people import Person
from app.store.models.plant_names import PlantNameRow
from app.store.queries.batch_entries import get_batch_entry
from app.store.queries.batches import get_batch
from app.store.session import Database
from tests.conftest import NOW, TODAY
from tests.services.batch_records import add_container, add_mix, add_mix_lot, days_ago, entry, keep
from tests.web.batch_pages import problems_of, set_up_nursery, six, stick, story, text_of

SignIn = Callable[[Role], FlaskClient]


@pytest.fixture(autouse=True)
def _nursery(database: Database) -> None:
    set_up_nursery(database)


@pytest.fixture
def browser(sign_in: SignIn) -> FlaskClient:
    return sign_in(Role.TRAINEE)


def test_six_fields_make_a_batch(browser: FlaskClient, database: Database) -> None:
    assert stick(browser, stuck="7 trays of 84 less 12") == "/batches/26-0001"
    page = text_of(browser.get("/batches/26-0001"))
    assert "26-0001 is saved: 576 semi-ripe cuttings of Hebe &#39;Great Orme&#39;." in page
    batch = story(database)
    assert (batch.plant, batch.entry.stuck, batch.entry.trays) == ("Hebe 'Great Orme'", 576, 7)
    assert batch.entry.hormone is not None
    assert (batch.entry.hormone.label, batch.benches) == ("IBA talc 1000 ppm", ("Mist bench 2",))
    assert batch.entry.stuck_on == TODAY
    assert batch.recorded_by == "Tomas Quill"


def test_everything_else_can_be_said_too(browser: FlaskClient, database: Database) -> None:
    stick(
        browser, taken_on="-1", taken="104", thrown_out="8", stored_hours="20", stored_c="4 °C",
        stored_how="damp", gathered_by="1", made_by="2", stuck_by="2", hours="1,5", cut="nodal",
        section="tip", growth_stage="firm at the base", length_cm="11", leaves_left="3",
        leaves_halved="yes", wounded="no", flowering="no", buds_removed="yes", dip_s="3",
        per_place="1", placed="middle", cover="mist", bottom_heat_c="20", shade="light",
        own_reference="book 3, 17", trial_block="B1", notes="from the top",
        **{
            "sources-0-kind": "stock plant", "sources-0-stock_plant": "s31",
            "sources-0-number": "60", "sources-1-kind": "bought in",
            "sources-1-supplier": "Larkfold Plants", "sources-1-number": "40",
        },
    )  # fmt: skip
    entry = story(database).entry
    assert (entry.taken, entry.thrown_out, entry.hours, entry.stored_c) == (104, 8, 1.5, 4.0)
    assert entry.taken_on == days_ago(1)
    assert (entry.leaves_halved, entry.wounded, entry.buds_removed) == (True, False, True)
    assert [(line.kind.value, line.number) for line in entry.sources] == [
        ("stock plant", 60),
        ("bought in", 40),
    ]
    page = text_of(browser.get("/batches/26-0001"))
    assert "Taken 104 on Tue 24 Nov by Ines Farrow, 8 thrown out at making" in page
    assert "from the top" in page


def test_a_stock_plants_code_names_plant_and_source(
    browser: FlaskClient, database: Database
) -> None:
    stick(browser, plant="S-0031")
    batch = story(database)
    assert batch.plant == "Hebe 'Great Orme'"
    assert [line.code for line in batch.sources] == ["S-0031"]


def test_plugs_come_from_the_container(browser: FlaskClient, database: Database) -> None:
    page = text_of(browser.get("/batches/new"))
    found = re.search(r'<option value="(\d+)">84-plug tray', page)
    assert found is not None
    stick(browser, container=found[1], stuck="2 trays less 4")
    assert (story(database).entry.stuck, story(database).entry.gaps) == (164, 4)


@pytest.mark.parametrize(
    ("typed", "field", "says"),
    [
        ({"plant": ""}, "plant", "Type the plant name"),
        ({"plant": "S-0099"}, "plant", "no stock plant S-0099"),
        ({"stuck": ""}, "stuck", "Give a number"),
        ({"stuck": "0"}, "stuck", "at least 1"),
        ({"stuck": "7 trays"}, "stuck", "how many plugs"),
        ({"cutting_type": "soft"}, "cutting_type", "Choose one"),
        ({"hormone": "1000 ppm"}, "hormone", "Name the substance"),
        ({"bench": "99"}, "bench", "Choose one"),
        ({"stuck_on": "tomorrow"}, "stuck_on", "still to come"),
        ({"taken": "50"}, "taken", "50 taken leave 50 to stick"),
        ({"bottom_heat_c": "99"}, "bottom_heat_c", "from -5 to 45"),
        ({"length_cm": "long"}, "length_cm", "Give a number"),
        ({"mix_lot": "M-0007"}, "mix_lot", "no mix lot M-0007"),
        ({"restuck_from": "26-0099"}, "restuck_from", "no batch 26-0099"),
        ({"sources-0-stock_plant": "S-0099"}, "sources-0-stock_plant", "no stock plant S-0099"),
        ({"sources-0-supplier": "X"}, "sources-0-stock_plant", "Name the stock plant"),
    ],
)  # fmt: skip
def test_what_is_refused_stands_by_its_field_and_what_was_typed_stays(
    browser: FlaskClient, database: Database, typed: dict[str, str], field: str, says: str
) -> None:
    answer = browser.post("/batches/new", data=six(notes="kept all the same", **typed))
    page = text_of(answer)
    assert answer.status_code == 422
    assert f'id="{field}-error"' in page
    assert says in " ".join(problems_of(page))
    assert f'href="#{field}"' in page
    assert "kept all the same" in page
    assert "<title>Error:" in page
    with database.reading() as session:
        assert session.scalar(select(func.count()).select_from(Batch)) == 0


def test_all_that_is_wrong_is_said_at_once(browser: FlaskClient) -> None:
    page = text_of(browser.post("/batches/new", data=six(stuck="x", stuck_on="x", taken="x")))
    assert len(problems_of(page)) == 3


def test_the_same_form_sent_twice_is_one_batch(browser: FlaskClient, database: Database) -> None:
    typed = six()
    first = browser.post("/batches/new", data=typed)
    second = browser.post("/batches/new", data=typed)
    assert (first.status_code, second.status_code) == (303, 303)
    assert first.location == second.location
    with database.reading() as session:
        assert session.scalar(select(func.count()).select_from(Batch)) == 1


def test_a_new_plant_name_is_asked_about_once(browser: FlaskClient, database: Database) -> None:
    answer = browser.post("/batches/new", data=six(plant="Hebe 'Great Orne'"))
    page = text_of(answer)
    assert answer.status_code == 422
    assert "is not in the log yet. Did you mean Hebe &#39;Great Orme&#39;?" in page
    assert 'name="new_plant"' in page
    stick(browser, plant="Hebe 'Great Orne'", new_plant="y")
    assert story(database).plant == "Hebe 'Great Orne'"
    with database.reading() as session:
        assert session.scalar(select(func.count()).select_from(PlantNameRow)) == 2


def test_another_like_it_keeps_all_but_the_number(browser: FlaskClient, database: Database) -> None:
    answer = browser.post("/batches/new", data=six(cover="mist", again="yes"))
    assert answer.status_code == 303
    assert answer.location == "/batches/new?like=26-0001&again=yes"
    page = text_of(browser.get(answer.location))
    assert "26-0001 is saved" in page
    assert 'value="mist"' in page
    assert re.search(r'id="stuck" [^>]*value=""', page)
    (number,) = re.findall(r'<input [^>]*id="stuck"[^>]*>', page)
    assert " autofocus " in number
    second = browser.post(answer.location, data=six(stuck="42", cover="mist", again="yes"))
    assert second.location == "/batches/new?like=26-0002&again=yes"
    assert story(database, "26-0002").entry.stuck == 42


def test_like_the_last_one(browser: FlaskClient) -> None:
    assert "Like the last one" not in text_of(browser.get("/batches/new"))
    stick(browser, cover="mist")
    page = text_of(browser.get("/batches/new"))
    assert "Like the last one, 26-0001" in page
    assert "/batches/new?like=26-0001" in page
    like = text_of(browser.get("/batches/new?like=26-1"))
    assert "Stick a batch like 26-0001" in like
    assert 'value="mist"' in like
    assert browser.get("/batches/new?like=26-0099").status_code == 404


def test_the_card_fills_blanks_without_script(sign_in: SignIn, database: Database) -> None:
    browser = sign_in(Role.TRAINEE)
    typed = six(hormone="", cover="fog", look_again="card")
    answer = browser.post("/batches/new", data=typed)
    page = text_of(answer)
    assert answer.status_code == 200
    assert "The method card for Hebe, semi-ripe" in page
    assert "common practice, no source" in page
    assert 'value="fog"' in page
    assert re.search(r'id="bottom_heat_c" [^>]*value="16.5"', page)
    with database.reading() as session:
        assert session.scalar(select(func.count()).select_from(Batch)) == 0
    hidden = dict(
        re.findall(r'name="(card_version|prefilled)" type="hidden" value="([^"]*)"', page)
    )
    filled = hidden["prefilled"].replace("&#34;", '"')
    assert '"bottom_heat_c": "16.5"' in filled
    assert "fog" not in filled
    stick(
        browser, hormone="", cover="fog", bottom_heat_c="16.5", prefilled=filled,
        card_version=hidden["card_version"],
    )  # fmt: skip
    entry = story(database).entry
    assert entry.taken_over == ("bottom_heat_c",)
    assert entry.method_card_version_id == int(hidden["card_version"])
    shown = text_of(browser.get("/batches/26-0001"))
    assert "Bottom heat was taken over from the method card, not measured." in shown
    assert re.search(r'Followed the method card <a href="/method-cards/\d+/versions/1">', shown)
    assert "Hebe, semi-ripe, version 1</a>." in shown


def test_what_was_changed_after_filling_is_not_taken_over(
    browser: FlaskClient, database: Database
) -> None:
    stick(browser, bottom_heat_c="18", prefilled='{"bottom_heat_c": "16.5"}')
    assert story(database).entry.taken_over == ()


@pytest.mark.parametrize("sent", ["[]", "{", '{"stuck": 3}', '{"notes": "x"}', "null"])
def test_odd_hidden_fields_do_no_harm(browser: FlaskClient, database: Database, sent: str) -> None:
    stick(browser, prefilled=sent, card_version="99x", notes="x")
    assert story(database).entry.taken_over == ()


def test_one_more_source_line_without_script(browser: FlaskClient) -> None:
    page = text_of(browser.post("/batches/new", data=six(look_again="sources", **{
        "sources-0-stock_plant": "S-0031",
    })))  # fmt: skip
    assert 'name="sources-1-kind"' in page
    assert 'value="S-0031"' in page


def test_a_correction_is_saved_and_told(browser: FlaskClient, database: Database) -> None:
    stick(browser)
    page = text_of(browser.get("/batches/26-0001/edit"))
    assert 'value="96"' in page
    assert "IBA talc 1000 ppm" in page
    answer = browser.post(
        "/batches/26-0001/edit",
        data=six(stuck="90", version="1", reason="counted again"),
        follow_redirects=True,
    )
    shown = text_of(answer)
    assert "26-0001 is corrected." in shown
    assert "<del>96</del> to <ins>90</ins>" in shown
    assert "counted again" in shown
    assert story(database).entry.stuck == 90


def test_the_second_editor_sees_both_versions(
    sign_in: SignIn, database: Database, head: Actor
) -> None:
    stick(sign_in(Role.HEAD))
    browser = sign_in(Role.HEAD)
    with database.writing() as session:
        batch = get_batch(session, code="26-0001")
        said = get_batch_entry(session, batch_id=batch.id)
        correct_batch(
            session, actor=head, today=TODAY, now=NOW, batch_id=batch.id, version=1,
            entry=replace(said, cover="fog"),
        )  # fmt: skip
    answer = browser.post("/batches/26-0001/edit", data=six(version="1", cover="mist"))
    page = text_of(answer)
    assert answer.status_code == 409
    assert "fog" in page
    assert "mist" in page
    assert story(database).entry.cover == "fog"


def test_a_correction_that_checks_contradict_is_refused_by_its_field(
    sign_in: SignIn, database: Database, head: Actor
) -> None:
    browser = sign_in(Role.HEAD)
    stick(browser, stuck_on="-30")
    with database.writing() as session:
        batch = get_batch(session, code="26-0001")
        record_check(
            session, actor=head, today=TODAY, now=NOW, batch_id=batch.id,
            entry=CheckEntry(checked_on=TODAY, rooted=60),
        )  # fmt: skip
    answer = browser.post(
        "/batches/26-0001/edit", data=six(stuck="50", stuck_on="-30", version="1")
    )
    assert answer.status_code == 422
    assert 'id="stuck-error"' in text_of(answer)
    assert "60 rooted and lost" in text_of(answer)


def test_what_is_in_use_no_more_is_kept_by_correcting(
    sign_in: SignIn, database: Database, head: Actor
) -> None:
    browser = sign_in(Role.HEAD)
    with database.writing() as session:
        leaver = keep(session, Person(key="left", name="Una Reed", name_key="una reed"))
        old = add_mix(session, "Old mix", versions=2)[0]
        container = add_container(session, "Wooden flat", plugs=None)
        said = entry(
            1, stuck_by_id=leaver, mix_version_id=old, container_id=container, bench_id=1,
            placed="in rows", growth_stage="running",
        )  # fmt: skip
        stick_batch(session, actor=head, today=TODAY, now=NOW, entry=said)
        for row in (session.get_one(Bench, 1), session.get_one(Container, container)):
            setattr(row, "closed_at" if isinstance(row, Bench) else "retired_at", NOW)
        session.get_one(Person, leaver).erased_at = NOW
    page = text_of(browser.get("/batches/26-0001/edit"))
    for kept in (
        "Una Reed",
        "Old mix, version 1",
        "Wooden flat",
        "Mist bench 2",
        "in rows",
        "running",
    ):
        assert re.search(rf"<option selected value=\"[^\"]*\">{kept}", page), kept
    assert "Wooden flat" not in text_of(browser.get("/batches/new"))
    like = text_of(browser.get("/batches/new?like=26-0001"))
    assert re.search(r'<option selected value="[^"]*">Old mix</option>', like)


def test_a_form_left_to_the_card_is_filled_again_for_another_type(browser: FlaskClient) -> None:
    typed = six(
        hormone="", cutting_type="softwood", plant="Pelargonium 'Somebody New'",
        bottom_heat_c="16.5", prefilled='{"bottom_heat_c": "16.5"}', look_again="card",
    )  # fmt: skip
    page = text_of(browser.post("/batches/new", data=typed))
    assert re.search(r'id="hormone" [^>]*value="no hormone"', page)
    assert re.search(r'id="bottom_heat_c" [^>]*value="19.5"', page)
    assert "The method card says to leave uncovered." in page


def test_a_protected_variety_is_said_before_and_after_sticking(
    browser: FlaskClient, sign_in: SignIn, database: Database, head: Actor
) -> None:
    with database.writing() as session:
        name = resolve_plant(session, typed="Hebe 'Invented Queen'").name
        said = PlantNameEntry(name=name, rights_grant="EU 123")
        add_plant_name(session, actor=head, now=NOW, entry=said)
    asked = text_of(browser.post(
        "/batches/new", data=six(plant="Hebe 'Invented Queen'", look_again="card")
    ))  # fmt: skip
    assert "no licence to propagate it is recorded" in asked
    unasked = browser.post("/batches/new", data=six(plant="Hebe 'Invented Queen'"))
    assert unasked.status_code == 422
    assert "Ask the head propagator, who alone can stick it." in text_of(unasked)
    heads = sign_in(Role.HEAD)
    unsaid = heads.post("/batches/new", data=six(plant="Hebe 'Invented Queen'"))
    assert 'href="#rights_reason"' in text_of(unsaid)
    why = {"rights_reason": "the holder agreed by telephone"}
    saved = text_of(heads.get(stick(heads, plant="Hebe 'Invented Queen'", **why)))
    assert "the holder agreed by telephone" in saved
    assert "<b>A protected variety (grant EU 123)" in saved


def test_lots_and_parents_are_named_by_their_codes(
    browser: FlaskClient, database: Database
) -> None:
    stick(browser, stuck_on="-5")
    with database.writing() as session:
        add_mix_lot(session, add_mix(session)[0])
    stick(browser, mix_lot="m1", restuck_from="26-1", stuck="12")
    batch = story(database, "26-0002")
    assert (batch.mix_lot, batch.restuck_from) == ("M-0001", "26-0001")
    page = text_of(browser.get("/batches/26-0002"))
    assert "(lot M-0001)" in page
    assert "Re-stuck from" in page


def test_the_caution_of_the_genus_stands_in_sight_of_the_six_fields(browser: FlaskClient) -> None:
    typed = six(plant="Pelargonium 'Somebody New'", look_again="card")
    page = text_of(browser.post("/batches/new", data=typed))
    in_sight = page.partition("<details")[0]
    assert "Pelargonium: may cause skin allergy" in in_sight
    assert (
        "no caution recorded"
        in text_of(browser.post("/batches/new", data=six(look_again="card"))).partition("<details")[
            0
        ]
    )
    assert "Dust of perlite, vermiculite and peat" in page
