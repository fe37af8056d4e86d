"""Reading short notebook sheets into a test's database."""

from datetime import date

from sqlalchemy import select

from app.domain.notebook_batches import read_notebook
from app.domain.people import Actor
from app.formats.csv_sheets import read_csv
from app.services.notebook_imports import NotebookComparison, compare_notebook
from app.services.notebook_writing import WrittenNotebook, write_notebook
from app.services.verifying import verify_log
from app.store.models.batches import Batch, BatchFacts
from app.store.session import Database
from tests.conftest import NOW, TODAY

REFERENCE = "notebook 2026"
HEADER = (
    "batch,plant,stuck_on,stuck,stock_plant,mix,bench,person,checked_on,checked_by,kind,rooted,"
    "lost,lost_cause,unrooted_counted,ending,note"
)
SHEET = f"""{HEADER}
    A1,Prunus domestica,2026-05-01,100,S-0031,Sand,Bench 3,Ines Farrow,,,,,,,,,
    A1,,,,,,,,2026-06-01,Nell Oake,,30,4,basal rot,,,strong
    A1,,,,,,,,2026-06-01,,,,2,grey mould,,,
    A2,Salvia officinalis,2026-05-02,60,,Sand,Bench 4,,2026-06-02,,,20,,,,dumped,
    A3,Salvia officinalis,2026-05-03,40,,,,,2026-06-02,,sample,3,,,7,,"""


def compare(
    database: Database, text: str, *, reference: str = REFERENCE, today: date = TODAY
) -> NotebookComparison:
    """Return the sheet, written as CSV with indents allowed, beside the log."""
    data = "\n".join(line.strip() for line in text.strip().splitlines()).encode()
    sheet = read_notebook(read_csv(data, row_limit=100_000), today=today)
    return compare_notebook(
        database.reading, sheet=sheet, reference=reference, progress=lambda _: None
    )


def write(
    database: Database,
    text: str,
    *,
    actor: Actor | None,
    reference: str = REFERENCE,
    skip_wrong: bool = False,
) -> WrittenNotebook:
    """Read the sheet in and return what was written."""
    comparison = compare(database, text, reference=reference)
    with database.writing() as session:
        return write_notebook(
            session,
            actor=actor,
            today=TODAY,
            now=NOW,
            comparison=comparison,
            skip_wrong=skip_wrong,
        )


def facts_of(database: Database, code: str) -> tuple[int, int, int, int]:
    with database.reading() as session:
        facts = session.scalars(
            select(BatchFacts)
            .join(Batch, Batch.id == BatchFacts.batch_id)
            .where(Batch.code == code)
        ).one()
        return (facts.rooted, facts.lost, facts.dumped, facts.unrooted)


def sound(database: Database) -> bool:
    """Return whether every derived figure and the history's chain agree."""
    with database.reading() as session:
        return list(verify_log(session)) == []


def states_of(database: Database, text: str) -> list[str]:
    return [str(state) for state in compare(database, text).states.values()]
