from pathlib import Path

import pytest
from sqlalchemy import func, select

from app.domain.notebook_comparison import LineState
from app.domain.people import Actor
from app.domain.problems import NotAccepted
from app.services.notebook_writing import LogChanged, write_notebook
from app.services.verifying import verify_log
from app.store.models.batches import Batch, BatchFacts
from app.store.models.benches import Bench, BenchStay
from app.store.models.checks import Check
from app.store.models.history import HistoryLine
from app.store.session import Database
from tests.conftest import NOW, TODAY
from tests.services.notebook_imports import compare, write

BARTLETT = Path(__file__).parents[1] / "data" / "bartlett_notebook.csv"


def test_bartlett_comes_in_as_four_batches_of_240(database: Database, head: Actor) -> None:
    # Bartlett 1935, J. R. Statist. Soc. Suppl. 2:248-252 (CONFIRMED: equal to vcdExtra::Bartlett).
    written = write(database, BARTLETT.read_text(), actor=head)
    assert (written.batches_made, written.checks_made, written.lines_left_out) == (4, 4, 0)
    with database.reading() as session:
        query = select(Batch.own_reference, BatchFacts.rooted, BatchFacts.lost, BatchFacts.open)
        rows = session.execute(query.join(BatchFacts, BatchFacts.batch_id == Batch.id)).all()
        assert {tuple(row) for row in rows} == {
            ("long now", 156, 84, 0),
            ("short now", 107, 133, 0),
            ("long spring", 84, 156, 0),
            ("short spring", 31, 209, 0),
        }
        codes = session.scalars(select(Batch.code).order_by(Batch.id)).all()
        assert codes == ["25-0001", "25-0002", "26-0001", "26-0002"]
        assert list(verify_log(session)) == []
