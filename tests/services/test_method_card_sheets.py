"""The sheet of method cards: a new version, months in this half, what stays on the page."""

import pytest
from sqlalchemy import update

from app.services.sheet_imports import Writer
from app.store.models.meta import Meta
from app.store.session import Database
from tests.services.sheet_log import assert_sound, blank_line, compared, opened, taken_out


def test_a_corrected_card_is_a_new_version_of_this_nursery(log: Database, writer: Writer) -> None:
    before = taken_out(log, "method-cards")[0]
    reading = opened("method-cards", [{"card": before["card"], "weeks_high": "30"}])
    with log.writing() as session:
        assert reading.write_anew(session, writer=writer) == "1 record corrected."
    after = taken_out(log, "method-cards")[0]
    assert int(after["edition"]) == int(before["edition"]) + 1
    assert after["weeks_high"] == "30"
    assert "weeks: this nursery" in after["standings"]
    kept = set(before) - {"edition", "weeks_high", "standings"}
    assert {name: after[name] for name in kept} == {name: before[name] for name in kept}
    assert_sound(log)


def test_months_are_those_of_the_nursery_s_half(log: Database, writer: Writer) -> None:
    card = {"card": taken_out(log, "method-cards")[0]["card"], "months": "may to july"}
    with log.writing() as session:
        opened("method-cards", [card]).write_anew(session, writer=writer)
        session.execute(update(Meta.__table__).values(hemisphere="south"))  # type: ignore[arg-type]
    south = taken_out(log, "method-cards")[0]
    assert south["months"] == "November to January"
    assert compared(log, opened("method-cards", [south]), writer).to_write == ()
    with log.writing() as session:
        changed = opened("method-cards", [card | {"months": "12-2"}])
        changed.write_anew(session, writer=writer)
    assert taken_out(log, "method-cards")[0]["months"] == "December to February"


@pytest.mark.parametrize(
    ("column", "typed", "sentence"),
    [
        ("genus", "Hebe", "What a card is for stays"),
        ("cutting_type", "root", "What a card is for stays"),
        ("steps", "Cut it", "on the card's own page"),
        ("retired", "yes", "on its own page"),
        ("months", "sometime", "no month"),
        ("leaves_low", "900", "Give leaves from 0"),
    ],
)
def test_what_a_sheet_does_not_change_says_why(
    log: Database, writer: Writer, column: str, typed: str, sentence: str
) -> None:
    card = {"card": taken_out(log, "method-cards")[0]["card"], column: typed}
    found = compared(log, opened("method-cards", [card]), writer)
    assert [remark.column for remark in found.wrong] == [column]
    assert sentence in found.wrong[0].sentence


def test_a_second_card_of_the_same_is_refused(log: Database, writer: Writer) -> None:
    lines = taken_out(log, "method-cards")
    same = {name: lines[0][name] for name in ("genus", "species", "plant", "cutting_type")}
    found = compared(log, opened("method-cards", [blank_line(lines, same)]), writer)
    assert [remark.column for remark in found.wrong] == ["cutting_type"]
