"""Mixes: versions that were used stay as they were."""

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.batches import BatchEntry
from app.domain.mixes import MixEntry, MixPart
from app.domain.people import Actor
from app.domain.problems import ChangedMeanwhile, NotAccepted, NotFound
from app.services.batches import stick_batch, void_batch
from app.services.mixes import add_mix, change_mix, keep_mix, load_starting_mixes, retire_mix
from app.store.models.history import HistoryLine
from app.store.models.mixes import Ingredient, MixLot
from app.store.queries.mixes import (
    get_mix,
    list_batches_in_mix,
    list_ingredients,
    list_mix_choices,
    list_mixes,
)
from tests.conftest import NOW, TODAY
from tests.services.batch_records import add_plant


def entry(name: str = "Frame mix", *, shrinkage: float | None = None, **parts: float) -> MixEntry:
    named = parts or {"bark": 3, "perlite": 2}
    return MixEntry(
        name=name,
        parts=tuple(MixPart(ingredient=one, parts=number) for one, number in named.items()),
        shrinkage_share=shrinkage,
    )


def use(session: Session, mix_id: int) -> None:
    """Let a mix lot name the newest version, as a batch would."""
    version_id = get_mix(session, mix_id=mix_id).newest.id
    session.add(MixLot(number=1, code="M-0001", mix_version_id=version_id, made_on=TODAY))
    session.flush()


def test_a_mix_is_kept_as_entered(session: Session, head: Actor) -> None:
    mix_id = add_mix(session, actor=head, now=NOW, entry=entry(shrinkage=0.08))
    mix = get_mix(session, mix_id=mix_id)
    assert (mix.name, mix.newest.number, mix.newest.words) == (
        "Frame mix",
        1,
        "3 parts bark and 2 parts perlite",
    )
    assert mix.newest.shrinkage_share == pytest.approx(0.08)
    line = session.scalars(select(HistoryLine)).one()
    assert (line.what, line.subject, line.change) == ("mix added", "mix Frame mix", "{}")


def test_two_of_one_name_are_refused_whatever_their_capitals(session: Session, head: Actor) -> None:
    add_mix(session, actor=head, now=NOW, entry=entry())
    with pytest.raises(NotAccepted, match="already") as refused:
        add_mix(session, actor=head, now=NOW, entry=entry("FRAME mix"))
    assert refused.value.problems[0].field == "name"


def test_an_unused_recipe_is_put_right_in_place(session: Session, head: Actor) -> None:
    mix_id = add_mix(session, actor=head, now=NOW, entry=entry())
    number = change_mix(
        session, actor=head, now=NOW, mix_id=mix_id, version=1, entry=entry(bark=1, sand=1)
    )
    mix = get_mix(session, mix_id=mix_id)
    assert (number, len(mix.versions), mix.version) == (1, 1, 2)
    assert mix.newest.words == "equal parts bark and sand"


def test_a_used_recipe_stays_and_the_change_is_the_next_version(
    session: Session, head: Actor
) -> None:
    mix_id = add_mix(session, actor=head, now=NOW, entry=entry())
    use(session, mix_id)
    number = change_mix(
        session, actor=head, now=NOW, mix_id=mix_id, version=1, entry=entry(bark=1, sand=1)
    )
    newest, first = get_mix(session, mix_id=mix_id).versions
    assert (number, newest.number, newest.words) == (2, 2, "equal parts bark and sand")
    assert (first.number, first.words) == (1, "3 parts bark and 2 parts perlite")
    line = session.scalars(select(HistoryLine).order_by(HistoryLine.sequence.desc())).first()
    assert line is not None
    assert line.what == "mix changed, now version 2"
    assert line.change == '{"parts":["bark, 3\\nperlite, 2","bark, 1\\nsand, 1"]}'


def test_what_was_stuck_in_it_keeps_its_recipe_and_is_listed(session: Session, head: Actor) -> None:
    mix_id = add_mix(session, actor=head, now=NOW, entry=entry())
    stuck = stick_batch(
        session,
        actor=head,
        today=TODAY,
        now=NOW,
        entry=BatchEntry(
            plant_name_id=add_plant(session),
            stuck_on=TODAY,
            stuck=96,
            mix_version_id=get_mix(session, mix_id=mix_id).newest.id,
        ),
    )
    change_mix(session, actor=head, now=NOW, mix_id=mix_id, version=1, entry=entry(loam=1))
    newest, first = get_mix(session, mix_id=mix_id).versions
    assert (newest.batches, first.batches) == (0, 1)
    assert first.words == "3 parts bark and 2 parts perlite"
    (listed,) = list_batches_in_mix(session, mix_id=mix_id)
    assert (listed.code, listed.plant, listed.number) == (stuck.code, "Hebe 'Great Orme'", 1)
    assert (listed.stuck, listed.rooted, listed.unrooted) == (96, 0, 96)
    assert list_mixes(session)[0].batches == 1


def test_a_batch_entered_by_mistake_is_not_listed_but_its_recipe_stays(
    session: Session, head: Actor
) -> None:
    mix_id = add_mix(session, actor=head, now=NOW, entry=entry())
    version_id = get_mix(session, mix_id=mix_id).newest.id
    wrong = BatchEntry(
        plant_name_id=add_plant(session), stuck_on=TODAY, stuck=9, mix_version_id=version_id
    )
    stuck = stick_batch(session, actor=head, today=TODAY, now=NOW, entry=wrong)
    void_batch(session, actor=head, today=TODAY, now=NOW, batch_id=stuck.id, reason="Entered twice")
    assert list_batches_in_mix(session, mix_id=mix_id) == ()
    assert get_mix(session, mix_id=mix_id).batches == 0
    assert (
        change_mix(session, actor=head, now=NOW, mix_id=mix_id, version=1, entry=entry(loam=1)) == 2
    )


def test_another_name_alone_makes_no_version(session: Session, head: Actor) -> None:
    mix_id = add_mix(session, actor=head, now=NOW, entry=entry())
    use(session, mix_id)
    number = change_mix(
        session, actor=head, now=NOW, mix_id=mix_id, version=1, entry=entry("Tray mix")
    )
    mix = get_mix(session, mix_id=mix_id)
    assert (number, mix.name, len(mix.versions)) == (1, "Tray mix", 1)


def test_saving_without_a_change_writes_nothing(session: Session, head: Actor) -> None:
    mix_id = add_mix(session, actor=head, now=NOW, entry=entry())
    change_mix(session, actor=head, now=NOW, mix_id=mix_id, version=1, entry=entry())
    assert get_mix(session, mix_id=mix_id).version == 1
    assert len(session.scalars(select(HistoryLine)).all()) == 1


def test_the_second_editor_is_shown_both(session: Session, head: Actor) -> None:
    mix_id = add_mix(session, actor=head, now=NOW, entry=entry())
    change_mix(session, actor=head, now=NOW, mix_id=mix_id, version=1, entry=entry(bark=1, sand=1))
    with pytest.raises(ChangedMeanwhile) as told:
        change_mix(session, actor=head, now=NOW, mix_id=mix_id, version=1, entry=entry(loam=1))
    assert told.value.version == 2
    shown = [(one.field, one.now, one.wanted) for one in told.value.changes]
    assert shown == [("parts", "bark, 1\nsand, 1", "loam, 1")]
    assert get_mix(session, mix_id=mix_id).newest.words == "equal parts bark and sand"


def test_a_mix_out_of_use_is_not_offered(session: Session, head: Actor) -> None:
    mix_id = add_mix(session, actor=head, now=NOW, entry=entry())
    retire_mix(session, actor=head, now=NOW, mix_id=mix_id, version=1, retired=True)
    assert list_mixes(session) == ()
    assert list_mix_choices(session) == ()
    assert [mix.retired for mix in list_mixes(session, retired=True)] == [True]
    retire_mix(session, actor=head, now=NOW, mix_id=mix_id, version=2, retired=False)
    assert [mix.name for mix in list_mixes(session)] == ["Frame mix"]


def test_the_newest_version_is_offered(session: Session, head: Actor) -> None:
    mix_id = add_mix(session, actor=head, now=NOW, entry=entry())
    use(session, mix_id)
    change_mix(session, actor=head, now=NOW, mix_id=mix_id, version=1, entry=entry(loam=1))
    newest = get_mix(session, mix_id=mix_id).newest
    assert [(one.mix_version_id, one.name) for one in list_mix_choices(session)] == [
        (newest.id, "Frame mix")
    ]


def test_a_name_out_of_a_sheet_is_kept_once(session: Session) -> None:
    version_id = keep_mix(session, actor=None, now=NOW, name=" old  frame mix ")
    assert keep_mix(session, actor=None, now=NOW, name="Old frame mix") == version_id
    mix = list_mixes(session)[0]
    assert (mix.name, mix.newest.id, mix.newest.words) == (
        "old frame mix",
        version_id,
        "recipe not recorded",
    )
    with pytest.raises(NotAccepted):
        keep_mix(session, actor=None, now=NOW, name=" ")


def test_ingredients_are_named_once(session: Session, head: Actor) -> None:
    add_mix(session, actor=head, now=NOW, entry=entry("One", Bark=1, sand=1))
    add_mix(session, actor=head, now=NOW, entry=entry("Two", bark=2, loam=1))
    assert list_ingredients(session) == ("Bark", "loam", "sand")
    assert len(session.scalars(select(Ingredient)).all()) == 3


def test_an_empty_list_starts_with_the_usual_mix_and_no_other(
    session: Session, head: Actor
) -> None:
    load_starting_mixes(session, now=NOW)
    load_starting_mixes(session, now=NOW)
    assert [mix.newest.words for mix in list_mixes(session)] == ["equal parts perlite and compost"]


def test_a_mix_that_is_not_there(session: Session, head: Actor) -> None:
    with pytest.raises(NotFound):
        get_mix(session, mix_id=99)
    with pytest.raises(NotFound):
        change_mix(session, actor=head, now=NOW, mix_id=99, version=1, entry=entry())
