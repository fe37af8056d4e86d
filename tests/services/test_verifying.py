"""`verify`: a sound log has nothing to tell; whatever is changed behind its back is found."""

import random
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest
from sqlalchemy.orm import Session

from app.domain.outcomes import Ending
from app.domain.people import Actor
from app.services.batches import void_batch
from app.services.checks import withdraw_check
from app.services.history import record_change, seal
from app.services.verifying import Finding, broken_seals, verify_log
from app.store.queries.verifying import get_history_end, iterate_history
from app.store.triggers import trigger_statements
from tests.conftest import NOW, TODAY
from tests.services.batch_records import add_plant
from tests.services.check_records import check, correct, lost, said, stick

EDITS = 1000


@pytest.fixture
def log(session: Session, head: Actor, trainee: Actor) -> Session:
    """A log with something of everything that is derived."""
    plant = add_plant(session)
    for number in range(4):
        batch = stick(session, head, plant=plant, stuck=96 + number)
        first = check(session, trainee, batch, said(20, rooted=30, lost=lost(4)))
        if number:
            correct(session, head, first, said(20, rooted=28, lost=lost(5)))
        if number == 1:
            check(session, head, batch, said(10, rooted=2, ending=Ending.DUMPED))
        if number == 2:
            second = check(session, head, batch, said(10, rooted=9))
            withdraw_check(
                session,
                actor=head,
                now=NOW,
                check_id=second.check_id,
                version=second.version,
                reason="wrong batch",
            )
        if number == 3:
            void_batch(session, actor=head, today=TODAY, now=NOW, batch_id=batch.id, reason="twice")
    for number in range(40):
        change = {"name": [f"bench {number}", f"bed {number}"]}
        record_change(
            session, actor=head, now=NOW, what="bench corrected", subject="bench", change=change
        )
    session.flush()
    return session


@contextmanager
def behind_its_back(session: Session, statement: str, *values: Any) -> Iterator[Session]:
    """Change the tables as somebody with the file and no scruples could; undone afterwards."""
    with session.begin_nested() as nested:
        connection = session.connection()
        for name in trigger_statements():
            connection.exec_driver_sql(f"DROP TRIGGER IF EXISTS {name}")
        connection.exec_driver_sql("PRAGMA ignore_check_constraints = ON")
        connection.exec_driver_sql("PRAGMA defer_foreign_keys = ON")
        changed = connection.exec_driver_sql(statement, values)
        assert changed.rowcount > 0, statement
        session.expire_all()
        yield session
        connection.exec_driver_sql("PRAGMA ignore_check_constraints = OFF")
        nested.rollback()


def findings(session: Session) -> list[Finding]:
    return list(verify_log(session))


def test_a_sound_log_has_nothing_to_tell(log: Session) -> None:
    assert findings(log) == []


@pytest.mark.parametrize(
    ("statement", "record", "sentence"),
    [
        (
            "UPDATE batch_facts SET rooted = 31, unrooted = 61 WHERE batch_id = 1",
            "batch 26-0001",
            "rooted is 31; its checks and plan give 30.",
        ),
        ("UPDATE batch_facts SET due_on = NULL WHERE batch_id = 1", "batch 26-0001", "due_on is"),
        ("UPDATE batch_facts SET genus_id = 77 WHERE batch_id = 1", "batch 26-0001", "genus_id"),
        ("DELETE FROM batch_facts WHERE batch_id = 2", "batch 26-0002", "rooted is nothing"),
        ("UPDATE checks SET rooted = 31 WHERE id = 1", "batch 26-0001, check of", "rooted is 31"),
        ("UPDATE checks SET withdrawn = 1 WHERE id = 1", "batch 26-0001, check", "withdrawn is 1"),
        ("UPDATE check_losses SET number = 7", "batch 26-0001, check of", "losses by cause give 7"),
        ("UPDATE check_versions SET rooted = 99 WHERE number = 2", "batch", "do not add up"),
        ("UPDATE checks SET ended = 1 WHERE ending = 'dumped'", "batch 26-0002", "ended is 1"),
        ("UPDATE batches SET ending_kind = '' WHERE id = 2", "batch 26-0002", "ending is nothing"),
        ("UPDATE batches SET code = '26-0009' WHERE id = 1", "batch 26-0009", "code is 26-0009"),
        ("UPDATE batches SET stuck = 90 WHERE id = 1", "batch 26-0001", "stuck is 96"),
        ("UPDATE batches SET voided_at = NULL WHERE id = 4", "batch 26-0004", "voided is 1"),
        ("UPDATE batches SET plant_name_id = 999 WHERE id = 1", "batches", "does not exist"),
        ("DELETE FROM batches WHERE id = 4", "facts 4", "no batch of this id"),
        ("UPDATE meta SET history_length = 9", "history", "9 were written"),
        ("UPDATE meta SET history_hash = ''", "history", "not the one that was written"),
        ("UPDATE history SET actor_key = '' WHERE sequence = 3", "history line 3", "not what was"),
    ],
)
def test_each_change_is_named(log: Session, statement: str, record: str, sentence: str) -> None:
    with behind_its_back(log, statement):
        found = findings(log)
    assert any(record in one.record and sentence in one.sentence for one in found), found
    assert findings(log) == []


def test_a_label_that_does_not_fit_is_named(log: Session) -> None:
    log.connection().exec_driver_sql(
        "INSERT INTO hormones (substance, form, ppm, label) VALUES ('IBA', 'talc', 1000, 'x')"
    )
    assert [(one.record, one.sentence) for one in findings(log)] == [
        (
            "hormone x",
            "label is x; its substance, form and strength give IBA talc 1000 ppm.",
        )
    ]


def _edit(dice: random.Random, length: int) -> tuple[str, tuple[Any, ...]]:
    """Return a random change of the history as a statement and its values."""
    line = dice.randint(1, length)
    other = dice.choice([number for number in range(1, length + 1) if number != line])
    text = f"x{dice.randint(1, 10**9)}"
    copied = (
        "INSERT INTO history SELECT ?, at, actor_key, what, subject, change, hash, ? "
        "FROM history WHERE sequence = ?"
    )
    column = dice.choice(["actor_key", "what", "subject", "change", "previous_hash", "hash"])
    return dice.choice(
        [
            (f"UPDATE history SET {column} = ? WHERE sequence = ?", (text, line)),
            ("UPDATE history SET at = datetime(at, '-1 second') WHERE sequence = ?", (line,)),
            ("UPDATE history SET change = change || ' ' WHERE sequence = ?", (line,)),
            ("DELETE FROM history WHERE sequence = ?", (line,)),
            ("DELETE FROM history WHERE sequence > ?", (min(line, length - 1),)),
            ("UPDATE history SET sequence = sequence + 1000 WHERE sequence = ?", (line,)),
            (copied, (length + 1, text, other)),
        ]
    )


def test_random_edits_behind_its_back_are_all_found(log: Session) -> None:
    dice = random.Random(20261125)
    length, _ = get_history_end(log)
    missed = []
    for _ in range(EDITS):
        statement, values = _edit(dice, length)
        with behind_its_back(log, statement, *values):
            if not list(broken_seals(iterate_history(log), end=get_history_end(log))):
                missed.append((statement, values))
    assert length > 50
    assert missed == []


def test_a_line_sealed_anew_is_still_found(log: Session) -> None:
    # Somebody who knows how lines are sealed still breaks the line after, or the end.
    lines = list(iterate_history(log))
    for place in (4, len(lines) - 1):
        line = lines[place]
        sealed = seal(
            sequence=line.sequence,
            at=line.at,
            actor_key=line.actor_key,
            what="nothing happened",
            subject=line.subject,
            change=line.change,
            previous_hash=line.previous_hash,
        )
        statement = "UPDATE history SET what = 'nothing happened', hash = ? WHERE sequence = ?"
        with behind_its_back(log, statement, sealed, line.sequence):
            assert len(findings(log)) == 1


def test_every_change_of_the_facts_is_found(log: Session) -> None:
    columns = log.connection().exec_driver_sql("PRAGMA table_info(batch_facts)").all()
    missed = []
    for _, name, kind, *_ in columns:
        value = {"DATE": "'2026-01-31'", "VARCHAR": "'other'"}.get(kind, "987")
        statement = f"UPDATE batch_facts SET {name} = {value} WHERE batch_id = 1"
        with behind_its_back(log, statement):
            if not findings(log):
                missed.append(name)
    assert missed == []
