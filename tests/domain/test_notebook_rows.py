from dataclasses import replace
from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from app.domain.cutting_types import Cut, CuttingType
from app.domain.hormones import Hormone
from app.domain.notebook import BatchWords
from app.domain.notebook_batches import read_notebook
from app.domain.notebook_columns import COLUMNS
from app.domain.notebook_comparison import KeptBatch, KeptCheck, LineState, compare_batch
from app.domain.notebook_rows import notebook_rows
from app.domain.outcomes import CheckCounts, CheckKind, Ending, Loss
from app.domain.plant_names import kept_plant_name
from app.domain.sheet_lines import SheetLine

TODAY = date(2026, 11, 25)
STUCK_ON = date(2026, 5, 1)
CAUSES = ("basal rot", "grey mould", "missing", "not known")
NOTES = st.sampled_from(["", "all well", "two\nlines", "a; b", "=1+1"])


def kept_with(*checks: KeptCheck, words: BatchWords | None = None) -> KeptBatch:
    said = words or BatchWords(
        plant=kept_plant_name("Prunus domestica"), stuck_on=STUCK_ON, stuck=100
    )
    return KeptBatch(id=1, code="26-0001", reference="", source="", words=said, checks=checks)


def lines_of(kept: KeptBatch) -> list[SheetLine]:
    rows = [COLUMNS, *notebook_rows(kept)]
    return [
        SheetLine(number=number, cells=tuple("" if cell is None else str(cell) for cell in row))
        for number, row in enumerate(rows, start=1)
    ]


def states_after_reading(kept: KeptBatch) -> set[LineState]:
    sheet = read_notebook(lines_of(kept), today=TODAY)
    assert sheet.wrong == ()
    (batch,) = sheet.batches
    compared = compare_batch(batch, kept=kept)
    assert len(compared.checks) == sum(not check.counts.withdrawn for check in kept.checks)
    return set(compared.line_states().values())


@st.composite
def checks_of_100(draw: st.DrawFn) -> tuple[KeptCheck, ...]:
    """Checks of 100 cuttings that add up, several a day, of every kind, some withdrawn."""
    left = 100
    day, running = STUCK_ON, 0
    checks: list[KeptCheck] = []
    for number in range(draw(st.integers(0, 8))):
        step = draw(st.integers(0, 2))
        day, running = (day + timedelta(days=step), 1) if step else (day, running + 1)
        counts = draw(counts_of(day, running, left))
        counted = None
        if counts.kind is CheckKind.COUNTED and not counts.withdrawn:
            left -= counts.rooted + counts.lost_in_all
            counted = draw(st.sampled_from([None, left, left + 3]))
        checks.append(
            KeptCheck(
                id=number,
                counts=counts,
                unrooted_counted=counted,
                checked_by=draw(st.sampled_from(["", "Nell Oake"])),
                note=draw(NOTES),
            )
        )
    if draw(st.booleans()):
        last = CheckCounts(checked_on=day + timedelta(days=1), ending=Ending.DUMPED)
        checks.append(KeptCheck(id=99, counts=last, unrooted_counted=left))
    return tuple(checks)


@st.composite
def counts_of(draw: st.DrawFn, day: date, running: int, left: int) -> CheckCounts:
    """Counts of one check while so many are left."""
    counts = CheckCounts(checked_on=day, running=running, kind=draw(st.sampled_from(CheckKind)))
    if counts.kind is CheckKind.SAMPLE:
        looked = draw(st.integers(1, 20))
        return replace(counts, looked=looked, rooted=draw(st.integers(0, looked)))
    if counts.kind is CheckKind.LOOKED_ONLY:
        return counts
    if draw(st.booleans()):
        return replace(counts, withdrawn=True)
    rooted = draw(st.integers(0, left // 2))
    causes = draw(st.lists(st.sampled_from(CAUSES), unique=True, max_size=3))
    lost = tuple(Loss(cause=cause, number=draw(st.integers(1, 4))) for cause in causes)
    return replace(counts, rooted=rooted, lost=lost if left - rooted > 12 else ())


@given(checks_of_100())
def test_what_is_written_out_reads_in_as_the_same(checks: tuple[KeptCheck, ...]) -> None:
    assert states_after_reading(kept_with(*checks)) == {LineState.SAME}


def test_everything_said_of_a_batch_comes_back() -> None:
    words = BatchWords(
        plant=kept_plant_name("Hebe 'Great Orme'"),
        stock_plant=("S-0031", "S-0032"),
        taken_on=date(2026, 4, 30),
        stuck_on=STUCK_ON,
        stuck=84,
        cutting_type=CuttingType.SEMI_RIPE,
        cut=Cut.HEEL,
        hormone=Hormone(substance="IBA", form="quick dip", ppm=2500),
        mix="Sand",
        container="84-plug tray",
        per_plug=1,
        bench="Bench 3",
        cover="mist",
        bottom_heat_c=0.5,
        person="Ines Farrow",
        note="after rain",
    )
    kept = kept_with(words=words)
    (batch,) = read_notebook(lines_of(kept), today=TODAY).batches
    assert batch.words == words
    assert states_after_reading(kept) == {LineState.SAME}


def test_no_hormone_and_hormone_not_recorded_stay_apart() -> None:
    none = kept_with(words=replace(kept_with().words, hormone=Hormone(substance="none")))
    (batch,) = read_notebook(lines_of(none), today=TODAY).batches
    assert batch.words.hormone == Hormone(substance="none")
    (batch,) = read_notebook(lines_of(kept_with()), today=TODAY).batches
    assert batch.words.hormone is None


def test_a_second_check_of_the_day_is_not_taken_for_part_of_the_first() -> None:
    first = CheckCounts(checked_on=STUCK_ON, rooted=3, lost=(Loss(cause="basal rot", number=1),))
    second = CheckCounts(checked_on=STUCK_ON, running=2, lost=(Loss(cause="grey mould", number=2),))
    kept = kept_with(KeptCheck(id=1, counts=first), KeptCheck(id=2, counts=second))
    (batch,) = read_notebook(lines_of(kept), today=TODAY).batches
    assert [check.counts for check in batch.checks] == [first, second]
