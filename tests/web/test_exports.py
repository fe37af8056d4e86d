"""Downloads of sheets."""

import csv
import io
from collections.abc import Callable
from pathlib import Path

import pytest
from flask.testing import FlaskClient

from app.domain.people import Actor, Role
from app.formats.xlsx_sheets import read_xlsx
from app.services.exports import ExportKind
from app.store.session import Database
from tests.services.notebook_imports import compare, write

SignIn = Callable[[Role], FlaskClient]
BARTLETT = Path(__file__).parents[1] / "data" / "bartlett_notebook.csv"
KINDS = [str(kind) for kind in ExportKind]


@pytest.fixture
def manager_client(sign_in: SignIn, database: Database, head: Actor) -> FlaskClient:
    write(database, BARTLETT.read_text(), actor=head, reference="bartlett")
    return sign_in(Role.MANAGER)


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_comes_as_csv_and_as_workbook(manager_client: FlaskClient, kind: str) -> None:
    answer = manager_client.get(f"/records/export/{kind}.csv")
    assert (answer.status_code, answer.mimetype) == (200, "text/csv")
    assert answer.headers["Content-Disposition"] == f'attachment; filename="{kind} 2026-11-25.csv"'
    header, *rows = csv.reader(io.StringIO(answer.data.decode("utf-8-sig"), newline=""))
    workbook = manager_client.get(f"/records/export/{kind}.xlsx")
    assert f"{kind} 2026-11-25.xlsx" in workbook.headers["Content-Disposition"]
    first, *others = read_xlsx(workbook.data, row_limit=100)
    assert list(first.cells) == header
    assert len(others) == len(rows)


def test_the_notebook_reads_in_again_as_the_same(
    manager_client: FlaskClient, database: Database
) -> None:
    answer = manager_client.get("/records/export/notebook.csv")
    comparison = compare(database, answer.data.decode("utf-8-sig"), reference="another")
    assert {str(state) for state in comparison.states.values()} == {"the same"}


def test_a_kind_that_is_none(manager_client: FlaskClient) -> None:
    assert manager_client.get("/records/export/letters.csv").status_code == 404
    assert manager_client.get("/records/export/letters.xlsx").status_code == 404


def test_a_trainee_takes_nothing_out(sign_in: SignIn) -> None:
    client = sign_in(Role.TRAINEE)
    assert client.get("/records/export/batches.csv").status_code == 403
    assert client.get("/records/export/batches.xlsx").status_code == 403
