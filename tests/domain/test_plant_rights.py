"""Protected varieties: what is said beside the work."""

from datetime import date

import pytest

from app.domain.people import Role
from app.domain.plant_rights import rights_problems, rights_words

ON = date(2026, 11, 25)


def test_an_unprotected_name_needs_no_word() -> None:
    assert rights_words(grant="", licence="", until=None, on=ON) == ""


def test_a_protected_name_names_its_licence_or_asks_for_it() -> None:
    licensed = rights_words(grant="EU 123", licence="L-7", until=None, on=ON)
    assert licensed == "A protected variety (grant EU 123): propagate it under licence L-7 only."
    assert "no licence to propagate it" in rights_words(grant="EU 1", licence="", until=ON, on=ON)


def test_a_right_that_has_ended_needs_no_word() -> None:
    assert rights_words(grant="EU 123", licence="", until=date(2026, 11, 24), on=ON) == ""


def refused(role: Role, reason: str = "", **more: object) -> list[tuple[str, str]]:
    rights = {"grant": "EU 123", "licence": "", "until": None} | more
    found = rights_problems(on=ON, role=role, reason=reason, **rights)  # type: ignore[arg-type]
    return [(problem.field, problem.sentence) for problem in found]


def test_without_a_licence_the_head_alone_sticks_it_and_says_why() -> None:
    ((field, sentence),) = refused(Role.HEAD)
    assert field == "rights_reason"
    assert "Say why it is stuck all the same" in sentence
    assert refused(Role.HEAD, reason="asked the holder by telephone") == []
    assert refused(Role.HEAD, reason="  ") != []


@pytest.mark.parametrize("role", [Role.TRAINEE, Role.MANAGER])
def test_nobody_else_does_for_any_reason(role: Role) -> None:
    ((field, sentence),) = refused(role, reason="somebody said so")
    assert field == "plant"
    assert "Ask the head propagator" in sentence


def test_a_licence_or_an_ended_right_asks_for_nothing() -> None:
    assert refused(Role.TRAINEE, licence="L-7") == []
    assert refused(Role.TRAINEE, until=date(2026, 11, 24)) == []
    assert refused(Role.TRAINEE, grant="") == []
