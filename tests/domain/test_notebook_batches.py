from datetime import date

import pytest

from app.domain.problems import NotAccepted
from tests.domain.notebook_sheets import notebook, wrong_of

HEADER = "batch | plant | stuck_on | stuck | bench | taken_on | checked_on | rooted | lost | note"


def test_lines_become_batches_with_their_checks() -> None:
    sheet = notebook(f"""{HEADER}
        A1 | Lavandula angustifolia 'Hidcote' | 2026-05-01 | 100 | Bench 3 | | | | | wet day
        A2 | Prunus domestica | 3/5/2026 | 60 | | | 2026-06-01 | 20 | 4 |
        A1 | | | | | | 2026-06-02 | 30 | 5 | strong
        A1 | | | | | | 2026-06-20 | 40 | |""")
    assert sheet.wrong == ()
    first, second = sheet.batches
    assert (first.reference, first.stuck, first.stuck_on) == ("A1", 100, date(2026, 5, 1))
    assert first.plant.plain == "Lavandula angustifolia 'Hidcote'"
    assert (first.words.bench, first.words.note, first.lines) == ("Bench 3", "wet day", (2, 4, 5))
    assert [check.counts.rooted for check in first.checks] == [30, 40]
    assert first.checks[0].note == "strong"
    assert second.checks[0].counts.lost[0].cause == "not known"
    assert sheet.lines == (2, 3, 4, 5)


def test_the_first_line_of_a_batch_says_plant_day_and_number() -> None:
    sheet = notebook(f"""{HEADER}
        A1 | | 2026-05-01 | | | | | | |
        A1 | Prunus domestica | | 100 | | | 2026-06-02 | 30 | |""")
    assert sheet.batches == ()
    assert wrong_of(sheet) == [(2, "plant"), (2, "stuck"), (3, "batch")]
    assert "Mend that" in sheet.wrong[2].sentence


def test_later_lines_may_repeat_or_add_but_not_contradict() -> None:
    sheet = notebook(f"""{HEADER}
        A1 | Prunus domestica | 2026-05-01 | 100 | bench 3 | | | | |
        A1 | Prunus domestica | 1/5/2026 | 100 | Bench  3 | 2026-04-30 | 2026-06-02 | 30 | |
        A1 | Prunus domestica | 2026-05-02 | 100 | Bench 4 | | 2026-06-03 | 30 | |""")
    assert wrong_of(sheet) == [(4, "stuck_on"), (4, "bench")]
    assert "2026-05-01 on a line before" in sheet.wrong[0].sentence
    (batch,) = sheet.batches
    assert (batch.words.taken_on, batch.lines) == (date(2026, 4, 30), (2, 3))
    assert len(batch.checks) == 1


def test_taken_after_it_was_stuck_is_wrong() -> None:
    sheet = notebook(f"""{HEADER}
        A1 | Prunus domestica | 2026-05-01 | 100 | | 2026-05-02 | | | |
        A2 | Prunus domestica | 2026-05-01 | 100 | | | | | |
        A2 | | | | | 2026-05-02 | | | |""")
    assert wrong_of(sheet) == [(2, "taken_on"), (4, "taken_on")]


def test_every_problem_of_a_line_is_named_with_its_column() -> None:
    sheet = notebook(f"""{HEADER}
        A1 | prunus | 30/2/2026 | ten | | | 2026-13-01 | x | |""")
    assert wrong_of(sheet) == [(2, "stuck_on"), (2, "stuck"), (2, "checked_on"), (2, "rooted")]


def test_a_name_that_raises_a_question_is_taken_and_listed_once() -> None:
    sheet = notebook(f"""{HEADER}
        A1 | Prunus | 2026-05-01 | 100 | | | | | |
        A2 | Prunus | 2026-05-01 | 100 | | | | | |""")
    assert sheet.wrong == ()
    assert [(remark.line, remark.column) for remark in sheet.minded] == [(2, "plant")]


def test_a_name_that_is_refused_is_wrong() -> None:
    sheet = notebook(f"""{HEADER}
        A1 | 'Hidcote' | 2026-05-01 | 100 | | | | | |""")
    assert wrong_of(sheet) == [(2, "plant")]


def test_counts_without_a_day_are_wrong() -> None:
    sheet = notebook(f"""{HEADER}
        A1 | Prunus domestica | 2026-05-01 | 100 | | | | 5 | |
        | Prunus domestica | 2026-05-01 | 100 | | | | | |""")
    assert wrong_of(sheet) == [(2, "checked_on"), (3, "batch")]


def test_cells_beyond_the_header_are_wrong() -> None:
    sheet = notebook(f"""{HEADER}
        A1 | Prunus domestica | 2026-05-01 | 100 | | | | | | hot | and dry""")
    assert wrong_of(sheet) == [(2, "")]
    assert "more cells than the header" in sheet.wrong[0].sentence


def test_a_sheet_without_lines_says_so() -> None:
    with pytest.raises(NotAccepted, match="Nothing stands below the header"):
        notebook(HEADER)


def test_a_line_shorter_than_the_header_is_read() -> None:
    sheet = notebook(f"""{HEADER}
        A1 | Prunus domestica | 2026-05-01 | 100""")
    assert sheet.wrong == ()
    assert sheet.batches[0].stuck == 100


def test_a_first_line_whose_check_does_not_add_up_takes_its_batch_along() -> None:
    sheet = notebook(f"""{HEADER}
        A1 | Prunus domestica | 2026-05-01 | 100 | | | 2026-06-01 | 130 | |
        A1 | | | | | | 2026-06-02 | 30 | |""")
    assert wrong_of(sheet) == [(2, "rooted"), (3, "batch")]
    assert sheet.batches == ()


def test_what_a_wrong_line_says_of_its_batch_is_left_out_with_it() -> None:
    sheet = notebook(f"""{HEADER}
        A1 | Prunus domestica | 2026-05-01 | 100 | | | | | |
        A1 | | | | Bench 3 | | 2026-06-02 | 130 | |""")
    assert wrong_of(sheet) == [(3, "rooted")]
    assert (sheet.batches[0].words.bench, sheet.batches[0].lines) == ("", (2,))
