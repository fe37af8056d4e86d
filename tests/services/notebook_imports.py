"""Reading short notebook sheets into a test's database."""

from datetime import date

from app.domain.notebook_batches import read_notebook
from app.domain.people import Actor
from app.formats.csv_sheets import read_csv
from app.services.notebook_imports import NotebookComparison, compare_notebook
from app.services.notebook_writing import WrittenNotebook, write_notebook
from app.store.session import Database
from tests.conftest import NOW, TODAY

REFERENCE = "notebook 2026"


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
