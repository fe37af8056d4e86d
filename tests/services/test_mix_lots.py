"""Mix lots: made up, named by batches, corrected, emptied, taken back."""

from dataclasses import replace
from typing import Any

import pytest
from sqlalchemy.orm import Session

from app.domain.mix_lots import LotIngredient, MixLotEntry
from app.domain.people import Actor
from app.domain.problems import ChangedMeanwhile, NotAccepted, NotAllowed, NotFound
from app.services.batches import stick_batch, void_batch
from app.services.mix_lots import (
    MadeMixLot,
    correct_mix_lot,
    empty_mix_lot,
    make_mix_lot,
    say_litres_used,
    void_mix_lot,
)
from app.services.verifying import verify_log
from app.store.models.batches import Batch
from app.store.queries.history import list_history
from app.store.queries.mix_lot_choices import list_open_lots
from app.store.queries.mix_lots import (
    find_measured_shrinkage,
    get_mix_lot,
    list_lot_batches,
    list_mix_lots,
)
from tests.conftest import NOW, TODAY
from tests.services.batch_records import add_container, add_mix, add_plant, entry

BARK = LotIngredient(ingredient="bark", supplier_lot="K 22", litres=300, bags=6, bag_l=50)
SAND = LotIngredient(ingredient="Sand", litres=100)


@pytest.fixture(autouse=True)
def plant(session: Session) -> int:
    return add_plant(session)


@pytest.fixture
def versions(session: Session) -> list[int]:
    return add_mix(session, versions=2)


def said(version: int, **more: Any) -> MixLotEntry:
    values: dict[str, Any] = {"litres": 360.0, "ingredients": (BARK, SAND)} | more
    return MixLotEntry(mix_version_id=version, made_on=TODAY, **values)


def make(session: Session, actor: Actor, version: int, **more: Any) -> MadeMixLot:
    made = said(version, **more)
    return make_mix_lot(session, actor=actor, today=TODAY, now=NOW, entry=made)


def stick(session: Session, actor: Actor, lot: MadeMixLot, **more: Any) -> str:
    about = entry(1, mix_lot_id=lot.id, **more)
    return stick_batch(session, actor=actor, today=TODAY, now=NOW, entry=about).code


def test_a_lot_reads_back_as_it_was_entered(
    session: Session, trainee: Actor, versions: list[int]
) -> None:
    more = {"asked_l": 350.0, "medium_ec": 0.8, "extraction": "1 : 5 by volume", "water_ph": 7.2}
    made = make(session, trainee, versions[1], **more)
    assert made.code == "M-0001"
    known = get_mix_lot(session, code="m1")
    assert known.entry == said(versions[1], **more)
    assert known.entry.shrinkage_share == pytest.approx(0.1)
    assert make(session, trainee, versions[1]).code == "M-0002"
    assert [lot.code for lot in list_mix_lots(session)] == ["M-0002", "M-0001"]
    with pytest.raises(NotAccepted, match="Choose the mix"):
        make(session, trainee, 99)


def test_batches_use_it_up(session: Session, head: Actor, versions: list[int]) -> None:
    made = make(session, head, versions[0])
    tray = add_container(session, volume_ml=55.0)
    by_trays = stick(
        session, head, made, stuck=252, trays=3, per_tray=84, gaps=0, container_id=tray
    )
    loose = stick(session, head, made, stuck=10)
    gone = stick(session, head, made, stuck=84, container_id=tray)
    (void_id,) = (row.id for row in session.query(Batch).filter_by(code=gone))
    void_batch(session, actor=head, today=TODAY, now=NOW, batch_id=void_id, reason="twice")
    batches = list_lot_batches(session, lot_ids=[made.id])[made.id]
    # 84 plugs of 55 mL are 4.62 litres (computed).
    assert [(one.code, one.litres, one.said) for one in batches] == [
        (by_trays, pytest.approx(13.86), False),
        (loose, None, False),
    ]
    assert get_mix_lot(session, code=made.code).left_l == pytest.approx(360 - 13.86)
    kept: dict[str, Any] = {"session": session, "actor": head, "now": NOW}
    say_litres_used(**kept, batch_code=loose, litres=350.0)
    known = get_mix_lot(session, code=made.code)
    assert (known.left_l, known.over_l) == (0, pytest.approx(3.86))
    say_litres_used(**kept, batch_code=loose, litres=None)
    assert get_mix_lot(session, code=made.code).used_l == pytest.approx(13.86)
    with pytest.raises(NotAccepted, match="Give litres from"):
        say_litres_used(**kept, batch_code=loose, litres=-1)
    with pytest.raises(NotFound):
        say_litres_used(**kept, batch_code="26-9999", litres=1)
    assert list(verify_log(session)) == []


def test_measured_lots_tell_how_much_a_recipe_shrinks(
    session: Session, head: Actor, versions: list[int]
) -> None:
    assert find_measured_shrinkage(session, mix_version_id=versions[0]) is None
    make(session, head, versions[0])
    make(session, head, versions[0], litres=None)
    make(session, head, versions[0], ingredients=(replace(BARK, litres=600),), litres=570.0)
    wrong = make(session, head, versions[0], litres=1.0)
    void_mix_lot(session, actor=head, today=TODAY, now=NOW, code=wrong.code, reason="slip")
    found = find_measured_shrinkage(session, mix_version_id=versions[0])
    assert found is not None
    # 400 + 600 litres went in, 360 + 570 came out.
    assert (found.share, found.lots) == (pytest.approx(0.07), 2)
    assert find_measured_shrinkage(session, mix_version_id=versions[1]) is None


def test_a_correction_is_told_field_by_field(
    session: Session, head: Actor, versions: list[int]
) -> None:
    made = make(session, head, versions[0])
    kept: dict[str, Any] = {"session": session, "actor": head, "today": TODAY, "now": NOW}
    better = said(versions[0], litres=355.0, ingredients=(replace(BARK, supplier_lot="K 23"), SAND))
    correct_mix_lot(**kept, code=made.code, version=1, entry=better)
    known = get_mix_lot(session, code=made.code)
    assert (known.entry, known.version) == (better, 2)
    told = list_history(session, subject=f"mix lot {made.code}", zone="UTC")[0]
    assert {change.field for change in told.changes} == {"litres", "ingredients"}
    assert "K 23" in str(told.changes)
    with pytest.raises(ChangedMeanwhile):
        correct_mix_lot(**kept, code=made.code, version=1, entry=said(versions[0]))
    correct_mix_lot(**kept, code=made.code, version=2, entry=better)
    assert get_mix_lot(session, code=made.code).version == 2


def test_an_empty_lot_is_no_longer_offered(
    session: Session, trainee: Actor, versions: list[int]
) -> None:
    first, second = (make(session, trainee, versions[0]) for _ in range(2))
    kept: dict[str, Any] = {"session": session, "actor": trainee, "today": TODAY, "now": NOW}
    empty_mix_lot(**kept, code=first.code, empty=True)
    assert [lot.code for lot in list_open_lots(session)] == [second.code]
    assert [lot.code for lot in list_mix_lots(session, usable=True)] == [second.code]
    assert get_mix_lot(session, code=first.code).left_l == 0
    with pytest.raises(NotAccepted, match="empty already"):
        empty_mix_lot(**kept, code=first.code, empty=True)
    empty_mix_lot(**kept, code=first.code, empty=False)
    assert len(list_open_lots(session)) == 2


def test_a_lot_entered_by_mistake_is_taken_back(
    session: Session, head: Actor, trainee: Actor, versions: list[int]
) -> None:
    of_head = make(session, head, versions[0])
    kept: dict[str, Any] = {"session": session, "today": TODAY, "now": NOW, "reason": "slip"}
    with pytest.raises(NotAllowed):
        void_mix_lot(**kept, actor=trainee, code=of_head.code)
    named = make(session, trainee, versions[0])
    stick(session, head, named)
    with pytest.raises(NotAccepted, match="Batches name"):
        void_mix_lot(**kept, actor=trainee, code=named.code)
    void_mix_lot(**kept, actor=head, code=of_head.code)
    with pytest.raises(NotAccepted, match="void already"):
        void_mix_lot(**kept, actor=head, code=of_head.code)
    with pytest.raises(NotAccepted, match="is void"):
        correct_mix_lot(
            session, actor=head, today=TODAY, now=NOW, code=of_head.code, version=1,
            entry=said(versions[0]),
        )  # fmt: skip
    with pytest.raises(NotAccepted, match="not in use"):
        stick(session, head, of_head)


def test_the_recipe_of_a_lot_decides(session: Session, head: Actor, versions: list[int]) -> None:
    old, new = versions
    (other,) = add_mix(session, "Seed mix")
    made = make(session, head, old)
    newer = stick(session, head, made, mix_version_id=new)
    from_card = stick(session, head, made, mix_version_id=other, taken_over=("mix", "cover"))
    for code in (newer, from_card):
        row = session.query(Batch).filter_by(code=code).one()
        assert row.mix_version_id == old
        assert "mix" not in row.taken_over
    with pytest.raises(NotAccepted, match="made up by another recipe"):
        stick(session, head, made, mix_version_id=other)
    assert list(verify_log(session)) == []
    session.connection().exec_driver_sql(
        f"UPDATE batches SET mix_version_id = {other} WHERE code = '{newer}'"
    )
    told = " ".join(found.sentence for found in verify_log(session))
    assert "mix lot M-0001 was made up by" in told
