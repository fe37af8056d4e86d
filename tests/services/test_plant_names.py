"""Names are kept once, found as they are typed, and corrected with all that rests on them."""

from datetime import date

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.people import Actor
from app.domain.plant_name_entries import PlantNameEntry
from app.domain.plant_names import NameStatus, parse_plant_name
from app.domain.problems import ChangedMeanwhile, NotAccepted, NotFound
from app.services.batches import stick_batch
from app.services.plant_names import (
    add_plant_name,
    correct_plant_name,
    keep_plant_name,
    resolve_plant,
)
from app.store.models.batches import BatchFacts
from app.store.models.genera import Genus
from app.store.models.history import HistoryLine
from app.store.queries.genera import get_genus
from app.store.queries.plant_names import (
    find_plant_names,
    get_plant_name,
    list_plant_names,
)
from tests.conftest import NOW, TODAY
from tests.services.batch_records import add_stock_plant, entry


def keep(session: Session, text: str) -> int:
    return keep_plant_name(session, actor=None, now=NOW, name=parse_plant_name(text).name)


def named(text: str, **more: object) -> PlantNameEntry:
    return PlantNameEntry(name=parse_plant_name(text).name, **more)  # type: ignore[arg-type]


def test_a_name_is_kept_once_with_its_genus_and_the_genus_s_caution(session: Session) -> None:
    first = keep(session, "Euphorbia × martini 'Ascot Rainbow'")
    assert keep(session, "euphorbia x martini  ‘Ascot Rainbow’") == first
    known = get_plant_name(session, plant_name_id=first)
    assert (known.plain, known.genus) == ("Euphorbia × martini 'Ascot Rainbow'", "Euphorbia")
    assert "gloves" in get_genus(session, name="Euphorbia").caution
    lines = session.scalars(select(HistoryLine)).all()
    assert [(line.what, line.subject, line.change) for line in lines] == [
        ("plant name added", "plant name Euphorbia × martini 'Ascot Rainbow'", "{}")
    ]


def test_a_formula_keeps_its_second_parent(session: Session) -> None:
    row_id = keep(session, "Rosa gallica × Rosa moschata")
    row = session.execute(
        select(Genus.name).where(Genus.name == get_plant_name(session, plant_name_id=row_id).genus)
    ).one()
    assert row.name == "Rosa"
    assert resolve_plant(session, typed="rosa gallica x rosa moschata").plant_name_id == row_id


@pytest.mark.parametrize(
    "typed",
    [
        "Dahlia 'Bishop of Llandaff'",
        "dahlia bishop of llandaff",
        "Dahlia Bishop Of Llandaff",
        'dahlia "bishop of llandaff"',
    ],
)
def test_a_name_in_the_log_is_known_without_its_marks(session: Session, typed: str) -> None:
    kept = keep(session, "Dahlia 'Bishop of Llandaff'")
    resolved = resolve_plant(session, typed=typed)
    assert resolved.plant_name_id == kept
    assert resolved.status is not NameStatus.WARN
    assert resolved.name.plain == "Dahlia 'Bishop of Llandaff'"


def test_two_alike_are_not_guessed_between(session: Session) -> None:
    keep(session, "Lavandula 'Hidcote'")
    keep(session, "Lavandula Hidcote Group")
    keep(session, "Lavandula hidcote")
    resolved = resolve_plant(session, typed="Lavandula Hidcote")
    assert (resolved.plant_name_id, resolved.status) == (None, NameStatus.WARN)


def test_a_known_name_asks_no_second_time(session: Session) -> None:
    kept = keep(session, "Dahlia 'Q'")
    assert resolve_plant(session, typed="Dahlia 'Q'").plant_name_id == kept
    assert resolve_plant(session, typed="Dahlia 'Q'").status is NameStatus.NORMALISE
    assert resolve_plant(session, typed="Dahlia 'R'").status is NameStatus.WARN


def test_a_stock_plant_s_code_stands_for_its_name(session: Session) -> None:
    kept = keep(session, "Hebe 'Great Orme'")
    plant = add_stock_plant(session, kept, 31)
    resolved = resolve_plant(session, typed="s31")
    assert (resolved.plant_name_id, resolved.stock_plant_id) == (kept, plant)
    assert (resolved.stock_plant_code, resolved.name.plain) == ("S-0031", "Hebe 'Great Orme'")
    with pytest.raises(NotAccepted, match="no stock plant S-0032"):
        resolve_plant(session, typed="S-0032")


def test_what_is_no_name_is_refused(session: Session) -> None:
    with pytest.raises(NotAccepted) as refused:
        resolve_plant(session, typed="'Hidcote'")
    assert refused.value.problems[0].field == "plant"


def test_what_stands_beside_a_name_is_kept(session: Session, head: Actor) -> None:
    told = named(
        "Choisya ternata SUNDANCE ('Lich')",
        common_name=" Mexican  orange ",
        family="Rutaceae",
        rights_licence="L-77",
        rights_until=date(2030, 5, 1),
        notes=" two forms in the trade ",
    )
    kept = add_plant_name(session, actor=head, now=NOW, entry=told)
    known = get_plant_name(session, plant_name_id=kept)
    assert (known.plain, known.trade_designation, known.common_name, known.family) == (
        "Choisya ternata 'Lich'",
        "SUNDANCE",
        "Mexican orange",
        "Rutaceae",
    )
    assert (known.rights_licence, known.rights_until, known.notes) == (
        "L-77",
        date(2030, 5, 1),
        "two forms in the trade",
    )
    with pytest.raises(NotAccepted, match="already"):
        add_plant_name(session, actor=head, now=NOW, entry=named("Choisya ternata 'Lich'"))


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"family": "mint family"}, "family"),
        ({"family": "lamiaceae"}, "family"),
        ({"rights_until": date(2030, 1, 1)}, "rights_grant"),
        ({"common_name": "x" * 201}, "common_name"),
        ({"notes": "x" * 5_001}, "notes"),
    ],
)
def test_what_cannot_be_is_refused_by_its_field(
    session: Session, head: Actor, more: dict[str, object], field: str
) -> None:
    with pytest.raises(NotAccepted) as refused:
        add_plant_name(session, actor=head, now=NOW, entry=named("Hebe", **more))
    assert [problem.field for problem in refused.value.problems] == [field]


def test_a_corrected_name_takes_its_batches_along(session: Session, head: Actor) -> None:
    wrong = keep(session, "Rosmarinus officinalis")
    batch = stick_batch(session, actor=head, today=TODAY, now=NOW, entry=entry(wrong))
    correct_plant_name(
        session,
        actor=head,
        now=NOW,
        plant_name_id=wrong,
        version=1,
        entry=named("Salvia rosmarinus"),
    )
    salvia = get_genus(session, name="Salvia")
    facts = session.get_one(BatchFacts, batch.id)
    session.refresh(facts)
    assert facts.genus_id == salvia.id
    line = session.scalars(
        select(HistoryLine).where(HistoryLine.what == "plant name corrected")
    ).one()
    assert line.subject == "plant name Salvia rosmarinus"
    assert line.change == '{"plain":["Rosmarinus officinalis","Salvia rosmarinus"]}'


def test_a_name_is_not_corrected_into_another_one(session: Session, head: Actor) -> None:
    keep(session, "Hebe 'Great Orme'")
    second = keep(session, "Hebe 'Midsummer Beauty'")
    with pytest.raises(NotAccepted, match="in the list already"):
        correct_plant_name(
            session,
            actor=head,
            now=NOW,
            plant_name_id=second,
            version=1,
            entry=named("Hebe 'Great Orme'"),
        )


def test_the_second_of_two_editors_is_told_in_words(session: Session, head: Actor) -> None:
    kept = keep(session, "Hebe 'Great Orme'")
    common = {"actor": head, "now": NOW, "plant_name_id": kept, "version": 1}
    correct_plant_name(session, entry=named("Hebe 'Great Orme'", notes="tall"), **common)
    with pytest.raises(ChangedMeanwhile) as told:
        correct_plant_name(session, entry=named("Veronica 'Great Orme'", notes="tall"), **common)
    assert [(c.field, c.now, c.wanted) for c in told.value.changes] == [
        ("plain", "Hebe 'Great Orme'", "Veronica 'Great Orme'")
    ]


def test_a_family_goes_to_the_genus(session: Session, head: Actor) -> None:
    kept = keep(session, "Hebe 'Great Orme'")
    other = keep(session, "Hebe albicans")
    told = named("Hebe 'Great Orme'", family="Plantaginaceae")
    correct_plant_name(session, actor=head, now=NOW, plant_name_id=kept, version=1, entry=told)
    assert get_plant_name(session, plant_name_id=other).family == "Plantaginaceae"
    # A name that moves to another genus does not take the family of the old one along.
    moved = named("Rosa 'Great Orme'", family="Plantaginaceae")
    correct_plant_name(session, actor=head, now=NOW, plant_name_id=kept, version=1, entry=moved)
    assert get_genus(session, name="Rosa").family == ""


def test_names_are_suggested_by_their_words(session: Session) -> None:
    for text in ("Hebe 'Great Orme'", "Salvia 'Great Blue'", "Hebe albicans"):
        keep(session, text)
    assert find_plant_names(session, text="hebe", limit=9) == ("Hebe 'Great Orme'", "Hebe albicans")
    assert find_plant_names(session, text="orme gr", limit=9) == ("Hebe 'Great Orme'",)
    assert find_plant_names(session, text="great", limit=1) == ("Hebe 'Great Orme'",)
    assert find_plant_names(session, text="100%", limit=9) == ()


def test_the_list_is_turned_page_by_page(session: Session) -> None:
    for letter in "abcde":
        keep(session, f"Rosa {letter * 3}")
    first = list_plant_names(session, limit=2)
    assert [line.plain for line in first.lines] == ["Rosa aaa", "Rosa bbb"]
    assert (first.earlier, first.later) == (False, True)
    second = list_plant_names(session, limit=2, after="Rosa bbb")
    assert [line.plain for line in second.lines] == ["Rosa ccc", "Rosa ddd"]
    assert (second.earlier, second.later) == (True, True)
    back = list_plant_names(session, limit=2, before="Rosa ccc")
    assert [line.plain for line in back.lines] == ["Rosa aaa", "Rosa bbb"]
    assert (back.earlier, back.later) == (False, True)
    assert list_plant_names(session, limit=2, after="Rosa ddd").later is False


def test_what_is_not_there_is_said(session: Session, head: Actor) -> None:
    with pytest.raises(NotFound):
        get_plant_name(session, plant_name_id=99)
    with pytest.raises(NotFound):
        correct_plant_name(
            session, actor=head, now=NOW, plant_name_id=99, version=1, entry=named("Hebe")
        )
    with pytest.raises(NotFound):
        get_genus(session, name="Nowhere")
