"""What is entered of a plant name besides its parts, and what is right to say there."""

from dataclasses import dataclass
from datetime import date
from typing import Final

from app.domain.plant_names import PlantName
from app.domain.problems import NotAccepted, Problem

LONGEST_TEXT: Final = 200
LONGEST_NOTES: Final = 5_000


@dataclass(frozen=True, kw_only=True)
class PlantNameEntry:
    """A name with what stands beside it.

    `rights_grant` and `rights_licence` are the numbers of a protected variety's grant and of the
    licence to propagate it; `rights_until` is the last day of the protection.
    """

    name: PlantName
    trade_designation: str = ""
    common_name: str = ""
    family: str = ""
    rights_grant: str = ""
    rights_licence: str = ""
    rights_until: date | None = None
    notes: str = ""


def accepted_plant_name(entry: PlantNameEntry) -> PlantNameEntry:
    """Return the entry with its texts tidied.

    Raises:
        NotAccepted: a text is too long, a family is no family name, or an end of rights is given
            without the rights.
    """
    one_line = ("trade_designation", "common_name", "family", "rights_grant", "rights_licence")
    texts = {field: " ".join(getattr(entry, field).split()) for field in one_line}
    texts["trade_designation"] = texts["trade_designation"] or entry.name.trade_designation
    notes = entry.notes.strip()
    problems = [
        Problem(field=field, sentence=f"Shorten this to at most {LONGEST_TEXT} characters.")
        for field, text in texts.items()
        if len(text) > LONGEST_TEXT
    ]
    if len(notes) > LONGEST_NOTES:
        sentence = f"Shorten the notes to at most {LONGEST_NOTES:,} characters."
        problems.append(Problem(field="notes", sentence=sentence))
    problems += family_problems(texts["family"])
    if entry.rights_until and not (texts["rights_grant"] or texts["rights_licence"]):
        sentence = "Say which right ends that day: give its grant or licence number."
        problems.append(Problem(field="rights_grant", sentence=sentence))
    if problems:
        raise NotAccepted(tuple(problems))
    return PlantNameEntry(name=entry.name, rights_until=entry.rights_until, notes=notes, **texts)


def family_problems(family: str) -> list[Problem]:
    """Return what is wrong with a family's name; a blank one is not known yet.

    A family is one word that ends in -aceae, but for eight old names that stand beside theirs
    (ICN Art. 18, FROM MEMORY).
    """
    if not family or family in _OLD_FAMILIES:
        return []
    if family.isalpha() and family.istitle() and family.endswith("aceae"):
        return []
    sentence = "Give the family as one word with a capital, such as Lamiaceae, or leave it blank."
    return [Problem(field="family", sentence=sentence)]


_OLD_NAMES: Final = "Compositae Cruciferae Gramineae Guttiferae Labiatae Leguminosae Palmae"
_OLD_FAMILIES: Final = frozenset({*_OLD_NAMES.split(), "Umbelliferae", "Papilionaceae"})


def rights_in_force(until: date | None, *, grant: str, licence: str, on: date) -> bool:
    """Return whether a variety is protected on a day; without an end it still is."""
    return bool(grant or licence) and (until is None or on <= until)
