"""Exports are read in chunks, each a short read of its own."""

from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.people import Actor
from app.services.exports import ExportKind, export_rows
from app.services.people import erase_person
from app.store.models.people import Person
from app.store.session import Database
from tests.conftest import NOW
from tests.services.notebook_imports import SHEET, write

BATCHES = 1_100


class CountedReads:
    """Gives short reads, and knows how many there were and whether one is open."""

    def __init__(self, database: Database) -> None:
        self.number = 0
        self.open = False
        self._database = database

    @contextmanager
    def reading(self) -> Iterator[Session]:
        self.number += 1
        self.open = True
        with self._database.reading() as session:
            yield session
        self.open = False


@pytest.mark.parametrize(
    ("kind", "lines"),
    [(ExportKind.BATCHES, BATCHES), (ExportKind.CHECKS, BATCHES), (ExportKind.NOTEBOOK, 2_200)],
)
def test_a_long_export_never_holds_a_read_open(
    database: Database, head: Actor, kind: ExportKind, lines: int
) -> None:
    rows = "\n".join(
        f"L{number},Rosa canina,2026-05-01,{number + 1},2026-06-01,1" for number in range(BATCHES)
    )
    write(database, f"batch,plant,stuck_on,stuck,checked_on,rooted\n{rows}", actor=head)
    reads = CountedReads(database)
    taken = 0
    for _ in export_rows(reads.reading, kind=kind):
        taken += 1
        assert not reads.open
    assert taken == lines + 1
    assert reads.number >= 3


def test_every_row_is_as_wide_as_the_header(database: Database, head: Actor) -> None:
    write(database, SHEET, actor=head)
    for kind in ExportKind:
        widths = {len(row) for row in export_rows(database.reading, kind=kind)}
        assert len(widths) == 1


def test_whoever_was_erased_is_not_taken_out(database: Database, head: Actor) -> None:
    write(database, SHEET.replace("Ines Farrow", "Nell Oake"), actor=head)
    with database.writing() as session:
        key = session.scalars(select(Person.key).where(Person.name == "Nell Oake")).one()
        erase_person(session, actor=head, now=NOW, key=key)
    for kind in (ExportKind.BATCHES, ExportKind.CHECKS, ExportKind.NOTEBOOK):
        said = {str(cell) for row in export_rows(database.reading, kind=kind) for cell in row}
        assert "Nell Oake" not in said
        assert not any("no longer recorded" in cell for cell in said)
