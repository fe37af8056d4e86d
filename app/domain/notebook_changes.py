"""What a notebook sheet would change in the log, in words for whoever looks it over."""

from collections.abc import Iterator

from app.domain.notebook import LineRemark, says, shown
from app.domain.notebook_comparison import ComparedBatch, ComparedCheck, KeptCheck, LineState
from app.domain.outcomes import CheckCounts


def described_changes(compared: ComparedBatch) -> Iterator[LineRemark]:
    """Yield for each column that differs what the log has and what it would have."""
    if compared.kept is None or compared.wrong:
        return
    for column in compared.changed:
        before = shown(getattr(compared.kept.words, column))
        after = shown(getattr(compared.words, column))
        yield _change(compared.batch.lines[0], column, before, after)
    for check in compared.checks:
        if check.state is LineState.CHANGED and check.kept is not None:
            yield from _check_changes(check, kept=check.kept)


def _check_changes(check: ComparedCheck, *, kept: KeptCheck) -> Iterator[LineRemark]:
    line = check.check.lines[0]
    before, after = _told(kept.counts), _told(check.counts)
    for column, words in after.items():
        if words != before[column]:
            yield _change(line, column, before[column], words)
    for column in ("unrooted_counted", "checked_by", "note"):
        said, stored = getattr(check.check, column), getattr(kept, column)
        if says(said) and said != stored:
            yield _change(line, column, shown(stored), shown(said))


def _told(counts: CheckCounts) -> dict[str, str]:
    lost = ", ".join(f"{loss.number} {loss.cause}" for loss in counts.lost if loss.number)
    return {
        "kind": counts.kind.value,
        "rooted": str(counts.rooted),
        "lost": lost,
        "ending": counts.ending.value,
    }


def _change(line: int, column: str, before: str, after: str) -> LineRemark:
    sentence = f"{before or 'blank'} in the log becomes {after or 'blank'}."
    return LineRemark(line=line, column=column, sentence=sentence)
