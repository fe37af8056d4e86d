"""Protected varieties: what is said beside the work."""

from datetime import date

from app.domain.plant_rights import rights_words

ON = date(2026, 11, 25)


def test_an_unprotected_name_needs_no_word() -> None:
    assert rights_words(grant="", licence="", until=None, on=ON) == ""


def test_a_protected_name_names_its_licence_or_asks_for_it() -> None:
    licensed = rights_words(grant="EU 123", licence="L-7", until=None, on=ON)
    assert licensed == "A protected variety (grant EU 123): propagate it under licence L-7 only."
    assert "no licence to propagate it" in rights_words(grant="EU 1", licence="", until=ON, on=ON)


def test_a_right_that_has_ended_needs_no_word() -> None:
    assert rights_words(grant="EU 123", licence="", until=date(2026, 11, 24), on=ON) == ""
