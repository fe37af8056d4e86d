from app.domain.notebook import NotebookCheck, NotebookSheet
from app.domain.outcomes import CheckKind, Ending
from tests.domain.notebook_sheets import notebook, wrong_of

BEGINNING = """batch | plant | stuck_on | stuck | checked_on | kind | rooted | lost | lost_cause \
| unrooted_counted | ending | checked_by | note
A1 | Prunus domestica | 2026-05-01 | 100"""


def sheet_of(*lines: str) -> NotebookSheet:
    return notebook("\n".join([BEGINNING, *(f"A1 | | | | {line}" for line in lines)]))


def checks_of(sheet: NotebookSheet) -> tuple[NotebookCheck, ...]:
    return sheet.batches[0].checks


def losses_of(check: NotebookCheck) -> list[tuple[str, int]]:
    return [(loss.cause, loss.number) for loss in check.counts.lost]


def test_lines_with_different_causes_are_one_check() -> None:
    sheet = sheet_of(
        "2026-06-01 | | 10 | 2 | basal rot",
        "2026-06-01 | | | 1 | grey mould",
        "2026-06-01 | | 0 | 3 |",
    )
    assert sheet.wrong == ()
    (check,) = checks_of(sheet)
    assert check.lines == (3, 4, 5)
    assert losses_of(check) == [("basal rot", 2), ("grey mould", 1), ("not known", 3)]
    assert check.counts.rooted == 10


def test_another_line_of_the_day_is_the_next_check() -> None:
    sheet = sheet_of(
        "2026-06-01 | | 10 | 2 | basal rot",
        "2026-06-01 | | 5 | | ",
        "2026-06-01 | | | 1 | basal rot",
        "2026-06-01 | | | 1 | basal rot",
    )
    assert sheet.wrong == ()
    assert [(check.counts.running, check.lines) for check in checks_of(sheet)] == [
        (1, (3,)),
        (2, (4, 5)),
        (3, (6,)),
    ]


def test_rooted_is_said_once_in_a_check() -> None:
    sheet = sheet_of("2026-06-01 | | 10 | 2 | basal rot", "2026-06-01 | | 3 | 1 | grey mould")
    assert wrong_of(sheet) == [(3, ""), (4, "rooted")]
    assert checks_of(sheet) == ()


def test_lines_of_one_check_that_contradict_are_wrong() -> None:
    sheet = sheet_of(
        "2026-06-01 | | 10 | 2 | basal rot | | dumped | Ines",
        "2026-06-01 | | | 1 | grey mould | | cleared unrooted | Tomas",
    )
    assert wrong_of(sheet) == [(3, ""), (4, "ending"), (4, "checked_by")]


def test_a_line_written_twice_is_taken_and_listed() -> None:
    sheet = sheet_of("2026-06-01 | | 10", "2026-06-01 | | 10")
    assert sheet.wrong == ()
    assert len(checks_of(sheet)) == 2
    assert [remark.line for remark in sheet.minded] == [4]


def test_kinds_of_check() -> None:
    sheet = sheet_of(
        "2026-06-01 | looked only | | | | | | | all well",
        "2026-06-02 | sample | 3 | | | 7",
        "2026-06-03 | counted | 0",
    )
    assert sheet.wrong == ()
    look, sample, count = checks_of(sheet)
    assert (look.counts.kind, look.note) == (CheckKind.LOOKED_ONLY, "all well")
    assert (sample.counts.rooted, sample.counts.looked, sample.unrooted_counted) == (3, 10, None)
    assert count.counts.kind is CheckKind.COUNTED


def test_kinds_that_do_not_fit_their_counts() -> None:
    sheet = sheet_of(
        "2026-06-01 | looked only | 4",
        "2026-06-02 | sample | 3",
        "2026-06-03 | sample | 3 | 2 | | 5",
        "2026-06-04",
        "2026-06-05 | | | | basal rot",
        "2026-06-06 | looked only | | | | 90",
    )
    assert wrong_of(sheet) == [
        (3, "rooted"),
        (4, "unrooted_counted"),
        (5, "lost"),
        (6, "rooted"),
        (7, "lost"),
        (8, "unrooted_counted"),
    ]


def test_counts_that_do_not_add_up_are_wrong_and_the_others_stay() -> None:
    sheet = sheet_of(
        "2026-06-01 | | 60",
        "2026-06-10 | | 50",
        "2026-06-20 | | 40",
        "2026-04-01 | | 1",
    )
    assert wrong_of(sheet) == [(4, "rooted"), (6, "checked_on")]
    assert "leave 40 of 100 unrooted" in sheet.wrong[0].sentence
    assert [check.counts.rooted for check in checks_of(sheet)] == [60, 40]


def test_nothing_comes_after_an_ending() -> None:
    sheet = sheet_of("2026-06-01 | | 60 | | | | dumped", "2026-06-10 | | 1")
    assert wrong_of(sheet) == [(4, "checked_on")]
    assert checks_of(sheet)[0].counts.ending is Ending.DUMPED


def test_a_short_count_of_the_unrooted_is_missing_and_listed() -> None:
    sheet = sheet_of("2026-06-01 | | 10 | 5 | basal rot | 80", "2026-06-10 | | 30 | | | 50")
    assert sheet.wrong == ()
    assert losses_of(checks_of(sheet)[0]) == [("basal rot", 5), ("missing", 5)]
    assert [(remark.line, remark.column) for remark in sheet.minded] == [(3, "unrooted_counted")]


def test_more_unrooted_than_can_be_left_is_wrong() -> None:
    sheet = sheet_of("2026-06-01 | | 10 | | | 95")
    assert wrong_of(sheet) == [(3, "unrooted_counted")]
    assert "at most 90" in sheet.wrong[0].sentence


def test_nothing_is_called_missing_that_a_wrong_line_may_explain() -> None:
    sheet = sheet_of("2026-06-01 | | x", "2026-06-10 | | 10 | | | 70")
    assert wrong_of(sheet) == [(3, "rooted"), (4, "unrooted_counted")]
    assert "leaving out the wrong ones" in sheet.wrong[1].sentence


def test_what_came_before_a_wrong_line_is_judged_as_ever() -> None:
    sheet = sheet_of("2026-06-01 | | 10 | | | 80", "2026-06-10 | | 90")
    assert wrong_of(sheet) == [(4, "rooted")]
    assert losses_of(checks_of(sheet)[0]) == [("missing", 10)]
    assert [remark.line for remark in sheet.minded] == [3]


def test_a_batch_in_which_nothing_adds_up_is_given_up_in_time() -> None:
    sheet = sheet_of(*(f"2026-06-{day:02d} | | 101" for day in range(1, 31)))
    assert len(wrong_of(sheet)) == 30
    assert checks_of(sheet) == ()
