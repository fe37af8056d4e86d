"""A genus is made once, and its family is put right. Families end in -aceae (ICN Art. 18), but
for eight old names that stand beside theirs; FROM MEMORY."""

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.people import Actor
from app.domain.problems import ChangedMeanwhile, NotAccepted, NotFound
from app.services.genera import correct_genus, keep_genus
from app.store.models.history import HistoryLine
from app.store.queries.genera import get_genus, list_genera
from tests.conftest import NOW


def test_a_genus_is_made_once(session: Session) -> None:
    first = keep_genus(session, name="Hebe")
    assert keep_genus(session, name="Hebe") == first
    assert [(genus.name, genus.names) for genus in list_genera(session)] == [("Hebe", 0)]
    assert get_genus(session, name="Hebe").caution == ""


@pytest.mark.parametrize("family", ["Plantaginaceae", "Labiatae", " Lamiaceae ", ""])
def test_a_family_is_put_right(session: Session, head: Actor, family: str) -> None:
    keep_genus(session, name="Hebe")
    correct_genus(session, actor=head, now=NOW, name="Hebe", version=1, family="Veronicaceae")
    correct_genus(session, actor=head, now=NOW, name="Hebe", version=2, family=family)
    assert get_genus(session, name="Hebe").family == family.strip()
    changes = session.scalars(select(HistoryLine.change).order_by(HistoryLine.sequence)).all()
    assert changes[-1] == f'{{"family":["Veronicaceae","{family.strip()}"]}}'


@pytest.mark.parametrize("family", ["Mint", "lamiaceae", "Lamia-ceae", "Lamiaceae Lindl."])
def test_what_is_no_family_is_refused(session: Session, head: Actor, family: str) -> None:
    keep_genus(session, name="Hebe")
    with pytest.raises(NotAccepted, match="Lamiaceae"):
        correct_genus(session, actor=head, now=NOW, name="Hebe", version=1, family=family)


def test_a_stale_edit_and_an_unknown_genus_are_told(session: Session, head: Actor) -> None:
    keep_genus(session, name="Hebe")
    correct_genus(session, actor=head, now=NOW, name="Hebe", version=1, family="Lamiaceae")
    with pytest.raises(ChangedMeanwhile):
        correct_genus(session, actor=head, now=NOW, name="Hebe", version=1, family="Rosaceae")
    with pytest.raises(NotFound):
        correct_genus(session, actor=head, now=NOW, name="Rosa", version=1, family="Rosaceae")
