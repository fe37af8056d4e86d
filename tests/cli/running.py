"""Running a command in this process, with a clock that stands still and output to look at."""

import io
from dataclasses import dataclass
from pathlib import Path

from app.cli.main import main
from app.clock import FixedClock
from tests.conftest import NOW


@dataclass(frozen=True, kw_only=True)
class Answer:
    """The exit code of a command and what it wrote."""

    code: int
    out: str
    err: str


def run_command(*words: str | Path, data: Path, clock: FixedClock | None = None) -> Answer:
    """Run one command on a data folder and return its answer."""
    out, err = io.StringIO(), io.StringIO()
    line = ["--data", str(data), *map(str, words)]
    code = main(line, clock=clock or FixedClock(NOW), out=out, err=err)
    return Answer(code=code, out=out.getvalue(), err=err.getvalue())
