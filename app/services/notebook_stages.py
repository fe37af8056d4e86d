"""A compared sheet as it is kept for looking over, and what became of it in words."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, Protocol

from app.domain.notebook import LineRemark
from app.domain.notebook_comparison import LineState
from app.domain.sheet_lines import SheetLine
from app.services.import_stages import StagedLine
from app.services.notebook_writing import WrittenNotebook


class ListedNames(Protocol):
    """Names that would be made with a sheet."""

    @property
    def listed(self) -> Iterable[tuple[str, Iterable[str]]]:
        """The names by kind."""
        ...


class SheetComparison(Protocol):
    """What looking over needs of a compared sheet, of whatever kind it is."""

    @property
    def states(self) -> Mapping[int, LineState]:
        """The state of every line."""
        ...

    @property
    def counts(self) -> Mapping[LineState, int]:
        """How many lines are of each state."""
        ...

    @property
    def to_write(self) -> Sequence[object]:
        """What writing would make or correct."""
        ...

    @property
    def new_names(self) -> ListedNames:
        """Names that would be made with it."""
        ...

    @property
    def wrong(self) -> tuple[LineRemark, ...]:
        """What keeps lines from being taken."""
        ...

    @property
    def minded(self) -> tuple[LineRemark, ...]:
        """What is taken but wants a look."""
        ...

    @property
    def changes(self) -> tuple[LineRemark, ...]:
        """What the log has and would have."""
        ...

    @property
    def ignored(self) -> tuple[str, ...]:
        """Headings that are not read."""
        ...


def summary_of(comparison: SheetComparison) -> dict[str, Any]:
    """Return what the page of a kept sheet says above its lines."""
    return {
        "counts": {state.value: number for state, number in comparison.counts.items()},
        "new_names": [[kind, list(names)] for kind, names in comparison.new_names.listed],
        "ignored": list(comparison.ignored),
        "minded": len({remark.line for remark in comparison.minded}),
    }


def staged_lines(
    lines: Iterable[SheetLine], *, comparison: SheetComparison
) -> Iterator[StagedLine]:
    """Yield every line below the header with its state and what is said about it."""
    wrong = _by_line(comparison.wrong)
    minded = _by_line(comparison.minded)
    changes = _by_line(comparison.changes)
    for line in lines:
        state = comparison.states.get(line.number)
        if state is not None:
            yield StagedLine(
                line=line,
                state=state,
                wrong=tuple(wrong.get(line.number, ())),
                minded=tuple(minded.get(line.number, ())),
                changes=tuple(changes.get(line.number, ())),
            )


def counts_words(comparison: SheetComparison) -> str:
    """Return "312 lines: 40 new, 2 changed, 268 the same, 2 wrong."."""
    counts = comparison.counts
    total = sum(counts.values())
    said = ", ".join(f"{counts[state]:,} {state.value}" for state in LineState)
    return f"{total:,} {'line' if total == 1 else 'lines'}: {said}."


def outcome_words(written: WrittenNotebook) -> str:
    """Return in a sentence what was written."""
    done = [
        _counted(written.batches_made, "batch", "batches", "made"),
        _counted(written.batches_corrected, "batch", "batches", "corrected"),
        _counted(written.checks_made, "check", "checks", "recorded"),
        _counted(written.checks_corrected, "check", "checks", "corrected"),
        _counted(written.names_made, "name", "names", "added"),
        _counted(written.lines_left_out, "wrong line", "wrong lines", "left out"),
    ]
    return _sentence(done)


def record_words(comparison: SheetComparison) -> str:
    """Return in a sentence what was written of a sheet of records."""
    counts = comparison.counts
    done = [
        _counted(counts[LineState.NEW], "record", "records", "added"),
        _counted(counts[LineState.CHANGED], "record", "records", "corrected"),
        _counted(
            sum(len(tuple(names)) for _, names in comparison.new_names.listed),
            "name",
            "names",
            "made with them",
        ),
        _counted(counts[LineState.WRONG], "wrong line", "wrong lines", "left out"),
    ]
    return _sentence(done)


def remark_words(remark: LineRemark) -> str:
    """Return "Line 12, rooted: ..." as a command prints it."""
    where = f"Line {remark.line}, {remark.column}" if remark.column else f"Line {remark.line}"
    return f"{where}: {remark.sentence}"


def _sentence(done: Iterable[str]) -> str:
    said = ", ".join(part for part in done if part)
    return f"{said[:1].upper()}{said[1:]}." if said else "Nothing to write: the log says the same."


def _counted(number: int, one: str, many: str, done: str) -> str:
    return f"{number:,} {one if number == 1 else many} {done}" if number else ""


def _by_line(remarks: Iterable[LineRemark]) -> dict[int, list[LineRemark]]:
    found: dict[int, list[LineRemark]] = {}
    for remark in remarks:
        found.setdefault(remark.line, []).append(remark)
    return found
