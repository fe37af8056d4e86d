"""The list of causes: filled once, added to and corrected by the head."""

import pytest
from sqlalchemy.orm import Session

from app.domain.lost_causes import DEFAULT_CAUSES
from app.domain.outcomes import Loss
from app.domain.people import Actor
from app.domain.problems import ChangedMeanwhile, NotAccepted, NotFound
from app.services.lost_causes import (
    add_lost_cause,
    correct_lost_cause,
    load_starting_lost_causes,
)
from app.services.starting_data import load_starting_data
from app.store.queries.checks import list_checks
from app.store.queries.lost_causes import get_lost_cause, list_lost_causes
from tests.conftest import NOW
from tests.services.check_records import check, lost, said, stick


def test_an_empty_list_is_filled_once(session: Session) -> None:
    load_starting_data(session, now=NOW)
    load_starting_lost_causes(session)
    known = list_lost_causes(session)
    assert [cause.name for cause in known] == list(DEFAULT_CAUSES)
    assert {cause.name for cause in known if cause.spreads} == {
        "basal rot",
        "grey mould",
        "blackleg",
    }


def test_an_added_cause_comes_last_and_can_be_logged(session: Session, head: Actor) -> None:
    batch = stick(session, head)
    cause_id = add_lost_cause(session, actor=head, now=NOW, name=" Vine  weevil", spreads=True)
    assert list_lost_causes(session)[-1].id == cause_id
    check(session, head, batch, said(7, lost=lost(2, "vine weevil")))
    correct_lost_cause(
        session,
        actor=head,
        now=NOW,
        cause_id=cause_id,
        version=1,
        name="weevil grubs",
        spreads=False,
        retired=True,
    )
    assert cause_id not in [cause.id for cause in list_lost_causes(session)]
    stored = get_lost_cause(session, cause_id=cause_id)
    assert (stored.name, stored.spreads, stored.retired, stored.version) == (
        "weevil grubs",
        False,
        True,
        2,
    )
    (kept,) = list_checks(session, batch_id=batch.id)
    assert kept.counts.lost == (Loss(cause="weevil grubs", number=2),)


@pytest.mark.parametrize("name", ["x", "Basal Rot", "slugs"])
def test_a_name_that_is_none_or_taken_is_refused(session: Session, head: Actor, name: str) -> None:
    load_starting_lost_causes(session)
    with pytest.raises(NotAccepted) as refused:
        add_lost_cause(session, actor=head, now=NOW, name=name)
    assert refused.value.problems[0].field == "name"


def test_what_others_lean_on_stays(session: Session, head: Actor) -> None:
    load_starting_lost_causes(session)
    missing = next(cause for cause in list_lost_causes(session) if cause.name == "missing")
    for name, retired in (("gone", False), ("missing", True)):
        with pytest.raises(NotAccepted, match="stays in the list"):
            correct_lost_cause(
                session,
                actor=head,
                now=NOW,
                cause_id=missing.id,
                version=1,
                name=name,
                spreads=False,
                retired=retired,
            )


def test_an_edit_on_an_old_version_is_refused(session: Session, head: Actor) -> None:
    cause_id = add_lost_cause(session, actor=head, now=NOW, name="mice")
    for version, name in ((1, "voles"), (2, "voles")):
        correct_lost_cause(
            session,
            actor=head,
            now=NOW,
            cause_id=cause_id,
            version=version,
            name=name,
            spreads=False,
            retired=False,
        )
    with pytest.raises(ChangedMeanwhile):
        correct_lost_cause(
            session,
            actor=head,
            now=NOW,
            cause_id=cause_id,
            version=1,
            name="rats",
            spreads=False,
            retired=False,
        )
    with pytest.raises(NotFound):
        get_lost_cause(session, cause_id=99)
