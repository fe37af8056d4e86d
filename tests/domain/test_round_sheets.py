"""What a line of a round sheet says: numbers, a cause by number or beginning, a look, nothing."""

from datetime import date

import pytest

from app.domain.check_entries import CheckEntry
from app.domain.outcomes import CheckKind, Loss
from app.domain.problems import NotAccepted, Problem
from app.domain.round_sheets import (
    LinesEntry,
    SheetCause,
    TypedLine,
    check_of_line,
    line_problems,
)
from app.domain.typed_counts import RootedAs

DAY = date(2026, 11, 25)
CAUSES = tuple(
    SheetCause(number=number, name=name)
    for number, name in enumerate(("basal rot", "dried out", "damage", "slugs", "slug pellets"), 1)
)
ENTRY = LinesEntry(checked_on=DAY, checked_by_id=7, typed_as=RootedAs.NEW, lines=())


def read(**typed: object) -> CheckEntry:
    line = TypedLine(position=1, **typed)  # type: ignore[arg-type]
    return check_of_line(line, entry=ENTRY, causes=CAUSES)


def fields(**typed: object) -> list[str]:
    with pytest.raises(NotAccepted) as refused:
        read(**typed)
    return [problem.field for problem in refused.value.problems]


def test_a_line_with_numbers_is_a_count() -> None:
    check = read(rooted="12", lost="3", cause="1")
    assert (check.kind, check.rooted, check.checked_on, check.checked_by_id) == (
        CheckKind.COUNTED,
        12,
        DAY,
        7,
    )
    assert check.lost == (Loss(cause="basal rot", number=3),)
    assert read(rooted="0").kind is CheckKind.COUNTED
    assert read(rooted="12", lost="0").lost == ()


def test_a_tick_alone_is_a_look() -> None:
    assert read(looked=True).kind is CheckKind.LOOKED_ONLY
    assert read(looked=True, rooted="2").kind is CheckKind.COUNTED


def test_what_the_numbers_are_holds_for_every_count() -> None:
    entry = LinesEntry(checked_on=DAY, checked_by_id=None, typed_as=RootedAs.LEFT, lines=())
    line = TypedLine(position=1, rooted="40")
    assert check_of_line(line, entry=entry, causes=CAUSES).typed_as is RootedAs.LEFT


@pytest.mark.parametrize(
    ("typed", "name"),
    [
        ("2", "dried out"),
        ("dr", "dried out"),
        ("DRIED  OUT", "dried out"),
        ("slugs", "slugs"),
        ("slug ", None),
        ("d", None),
        ("9", None),
        ("frost", None),
    ],
)
def test_a_cause_by_its_number_or_its_first_letters(typed: str, name: str | None) -> None:
    if name is None:
        assert fields(rooted="0", lost="1", cause=typed) == ["cause"]
    else:
        assert read(rooted="0", lost="1", cause=typed).lost[0].cause == name


def test_the_first_letters_of_several_are_asked_about() -> None:
    with pytest.raises(NotAccepted, match="This can be dried out or damage: type more of it"):
        read(rooted="0", lost="1", cause="d")


def test_what_is_missing_stands_beside_its_field() -> None:
    assert fields(lost="3", cause="1") == ["rooted"]
    assert fields(rooted="3", lost="3") == ["cause"]
    assert fields(rooted="3", cause="1") == ["lost"]
    assert fields(cause="1") == ["rooted", "lost"]
    assert fields(rooted="many", lost="x", cause="?") == ["rooted", "lost", "cause"]


def test_a_blank_line_is_known() -> None:
    assert TypedLine(position=1).is_blank
    assert TypedLine(position=1, again=True).is_blank
    for typed in ({"rooted": "0"}, {"lost": "1"}, {"cause": "1"}, {"looked": True}):
        assert not TypedLine(position=1, **typed).is_blank  # type: ignore[arg-type]


def test_problems_stand_beside_the_fields_of_their_line() -> None:
    found = line_problems(
        [Problem(field=field, sentence="x") for field in ("lost", "again", "checked_on", "")],
        position=12,
    )
    assert [problem.field for problem in found] == ["lost-12", "again-12", "rooted-12", "rooted-12"]
    assert {problem.sentence for problem in found} == {"Line 12: x"}
