"""Method cards are put in, found, changed and taken out of use."""

from dataclasses import replace
from datetime import timedelta

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.batches import BatchEntry
from app.domain.card_months import parse_months
from app.domain.cutting_types import CuttingType
from app.domain.method_cards import THIS_NURSERY, CardEntry, CardValues
from app.domain.people import Actor
from app.domain.problems import ChangedMeanwhile, NotAccepted, NotFound
from app.domain.standings import COMMON_PRACTICE
from app.services.batches import stick_batch
from app.services.method_cards import add_card, change_card, load_starting_cards, retire_card
from app.store.models.batches import BatchFacts
from app.store.models.genera import Genus
from app.store.models.history import HistoryLine
from app.store.models.method_cards import MethodCard
from app.store.queries.method_cards import (
    KnownCard,
    find_card,
    get_card,
    list_card_versions,
    list_cards,
)
from tests.conftest import NOW, TODAY
from tests.services.batch_records import add_plant

SOFT, SEMI = CuttingType.SOFTWOOD, CuttingType.SEMI_RIPE


@pytest.fixture
def loaded(session: Session) -> Session:
    load_starting_cards(session, now=NOW)
    return session


def found(session: Session, genus: str, cutting_type: CuttingType, species: str = "") -> KnownCard:
    card = find_card(session, genus=genus, species=species, cutting_type=cutting_type)
    assert card is not None
    return card


def test_the_starting_cards_are_put_in_once(session: Session) -> None:
    assert load_starting_cards(session, now=NOW) == 79
    assert load_starting_cards(session, now=NOW) == 0
    assert len(list_cards(session)) == 79
    line = session.scalars(select(HistoryLine)).one()
    assert (line.what, line.change) == ("starting method cards put in", '{"cards":[0,79]}')


def test_a_card_comes_out_as_it_was_put_in(loaded: Session) -> None:
    card = found(loaded, "Salix", CuttingType.HARDWOOD)
    assert card.values.months == parse_months("2-4")
    assert (card.values.weeks_low, card.values.weeks_high) == (1, 6)
    assert card.standings["weeks"].startswith("Tara Luna")
    assert card.standings["months"] == COMMON_PRACTICE
    assert (card.number, card.made_by) == (1, "")


def test_genera_come_with_their_caution_and_without_one_say_nothing(loaded: Session) -> None:
    taxus = loaded.scalars(select(Genus).where(Genus.name == "Taxus")).one()
    assert taxus.caution.startswith("VERY poisonous")
    assert (taxus.caution_route, taxus.caution_basis) == ("eaten", COMMON_PRACTICE)
    assert found(loaded, "Cistus", SEMI).caution == ""


def test_a_card_for_one_species_is_never_stretched_over_its_genus(loaded: Session) -> None:
    # The only card of Euphorbia in the table is for poinsettia; other spurges rot under mist.
    assert found(loaded, "Euphorbia", SOFT, "pulcherrima").species == "pulcherrima"
    assert find_card(loaded, genus="Euphorbia", species="characias", cutting_type=SOFT) is None
    assert find_card(loaded, genus="Euphorbia", species="", cutting_type=SOFT) is None


def test_the_species_speaks_before_its_genus(loaded: Session) -> None:
    assert found(loaded, "Salvia", SOFT, "rosmarinus").species == "rosmarinus"
    assert found(loaded, "Salvia", SOFT, "officinalis").species == ""
    assert found(loaded, "Salvia", SOFT).species == ""
    assert find_card(loaded, genus="Salvia", species="", cutting_type=SEMI) is None


def test_a_change_is_the_next_version_and_stands_as_this_nurserys_own(
    loaded: Session, head: Actor
) -> None:
    before = found(loaded, "Salix", CuttingType.HARDWOOD)
    values = replace(before.values, weeks_high=8)
    number = change_card(
        loaded, actor=head, now=NOW, card_id=before.id, version=before.version, values=values
    )
    after = get_card(loaded, card_id=before.id)
    assert (number, after.number, after.made_by) == (2, 2, head.name)
    assert after.values == values
    assert after.standings["weeks"] == THIS_NURSERY
    assert after.standings["cover"] == before.standings["cover"]
    newest, first = list_card_versions(loaded, card_id=before.id)
    assert newest == after
    assert (first.number, first.values) == (1, before.values)
    line = loaded.scalars(select(HistoryLine).order_by(HistoryLine.sequence.desc())).first()
    assert line is not None
    assert line.subject == "method card Salix hardwood"
    assert line.change == '{"weeks_high":[6.0,8]}'


def test_other_weeks_to_root_move_the_first_count_of_open_batches(
    loaded: Session, head: Actor
) -> None:
    # The first count falls due at the lower weeks to root of the genus and type, times seven.
    entry = BatchEntry(
        plant_name_id=add_plant(loaded, "Cistus"), stuck_on=TODAY, stuck=60, cutting_type=SEMI
    )
    stick_batch(loaded, actor=head, today=TODAY, now=NOW, entry=entry)
    first_count = select(BatchFacts.next_count_on)
    assert loaded.scalar(first_count) == TODAY + timedelta(weeks=4)
    card = found(loaded, "Cistus", SEMI)
    values = replace(card.values, weeks_low=6)
    change_card(loaded, actor=head, now=NOW, card_id=card.id, version=card.version, values=values)
    assert loaded.scalar(first_count) == TODAY + timedelta(weeks=6)


def test_saving_without_a_change_makes_no_version(loaded: Session, head: Actor) -> None:
    card = found(loaded, "Cistus", SEMI)
    number = change_card(
        loaded, actor=head, now=NOW, card_id=card.id, version=card.version, values=card.values
    )
    assert number == 1
    assert get_card(loaded, card_id=card.id).version == card.version


def test_the_second_editor_is_told(loaded: Session, head: Actor) -> None:
    card = found(loaded, "Cistus", SEMI)
    first, second = replace(card.values, mix="Frame mix"), replace(card.values, mix="Tray mix")
    change_card(loaded, actor=head, now=NOW, card_id=card.id, version=card.version, values=first)
    with pytest.raises(ChangedMeanwhile) as told:
        change_card(
            loaded, actor=head, now=NOW, card_id=card.id, version=card.version, values=second
        )
    shown = [(one.field, one.now, one.wanted) for one in told.value.changes]
    assert shown == [("mix", "Frame mix", "Tray mix")]
    assert get_card(loaded, card_id=card.id).values.mix == "Frame mix"


def test_a_new_card_is_this_nurserys_own(loaded: Session, head: Actor) -> None:
    entry = CardEntry(
        genus="cistus",
        species="Ladanifer",
        cutting_type=SEMI,
        values=CardValues(weeks_low=5, weeks_high=7, cover=" mist "),
    )
    card = get_card(loaded, card_id=add_card(loaded, actor=head, now=NOW, entry=entry))
    assert (card.plant, card.values.cover) == ("Cistus ladanifer", "mist")
    assert set(card.standings.values()) == {THIS_NURSERY}
    assert found(loaded, "Cistus", SEMI, "ladanifer").id == card.id
    assert found(loaded, "Cistus", SEMI, "salviifolius").species == ""
    with pytest.raises(NotAccepted, match="already") as refused:
        add_card(loaded, actor=head, now=NOW, entry=entry)
    assert refused.value.problems[0].field == "cutting_type"


def test_a_card_out_of_use_speaks_for_nobody_and_is_not_put_in_again(
    loaded: Session, head: Actor
) -> None:
    card = found(loaded, "Cistus", SEMI)
    retire_card(loaded, actor=head, now=NOW, card_id=card.id, version=card.version, retired=True)
    assert find_card(loaded, genus="Cistus", species="", cutting_type=SEMI) is None
    assert load_starting_cards(loaded, now=NOW) == 0
    retired = get_card(loaded, card_id=card.id)
    assert retired.retired
    retire_card(
        loaded, actor=head, now=NOW, card_id=card.id, version=retired.version, retired=False
    )
    assert found(loaded, "Cistus", SEMI).id == card.id


def test_cards_are_found_by_genus_species_and_type(loaded: Session) -> None:
    assert [card.plant for card in list_cards(loaded, text="salvia")] == [
        "Salvia",
        "Salvia rosmarinus",
    ]
    assert [card.plant for card in list_cards(loaded, text="ROSMAR")] == ["Salvia rosmarinus"]
    assert {card.cutting_type for card in list_cards(loaded, text="hard")} == {CuttingType.HARDWOOD}
    assert list_cards(loaded, text="salvia hardwood") == ()
    assert list_cards(loaded, text="%") == list_cards(loaded)


def test_a_card_that_is_not_there(session: Session, head: Actor) -> None:
    with pytest.raises(NotFound):
        get_card(session, card_id=1)
    with pytest.raises(NotFound):
        change_card(session, actor=head, now=NOW, card_id=1, version=1, values=CardValues())
    assert session.scalars(select(MethodCard)).all() == []
