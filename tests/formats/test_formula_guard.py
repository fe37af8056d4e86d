from hypothesis import example, given
from hypothesis import strategies as st

from app.formats.formula_guard import guard, unguard


def test_texts_that_would_run_get_an_apostrophe() -> None:
    # Common practice against formula injection: = + - @, tab and carriage return.
    for risky in ("=1+1", "+1+1", "-1+1", "@SUM(A1)", "\t=1", "\r=1"):
        assert guard(risky) == "'" + risky


def test_numbers_stay_numbers() -> None:
    for number in ("-3", "+3", "-0.5", "-3,5", "3"):
        assert guard(number) == number
        assert unguard(number) == number


def test_epithets_keep_their_quotation_mark() -> None:
    assert guard("'Hidcote'") == "'Hidcote'"
    assert unguard("'Hidcote'") == "'Hidcote'"


@given(st.text())
@example("'=1")
@example("''-3")
@example("'-3")
@example("＝1")
def test_taking_the_guard_off_gives_back_what_was_typed(text: str) -> None:
    assert unguard(guard(text)) == text


@given(st.text(min_size=1))
def test_nothing_guarded_begins_with_a_sign_that_runs(text: str) -> None:
    guarded = guard(text)
    assert guarded[0] not in "=@\t\r"
    assert guarded[0] not in "+-" or guarded[1:].replace(",", ".").replace(".", "", 1).isdecimal()
