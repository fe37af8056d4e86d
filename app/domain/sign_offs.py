"""The head's word that somebody has a technique in hand: what, on which day, withdrawn or not."""

from dataclasses import dataclass, replace
from datetime import date
from typing import Final

from app.domain.cutting_types import CuttingType
from app.domain.days import EARLIEST
from app.domain.plant_names import parse_plant_name
from app.domain.problems import NotAccepted, Problem

LONGEST_NOTE: Final = 500
OTHER_WORK: Final = (
    "gathering material",
    "checking batches",
    "making up a mix",
    "making up hormone",
    "potting up",
    "hygiene",
)
TECHNIQUES: Final = (*(each.value for each in CuttingType), *OTHER_WORK)
"""What can be signed off: each cutting type, and the work round it."""


@dataclass(frozen=True, kw_only=True)
class SignOffEntry:
    """A technique signed off on a day; `genus` is "" where it holds for every one."""

    technique: str
    signed_on: date
    genus: str = ""
    note: str = ""


def accepted_sign_off(entry: SignOffEntry, *, today: date) -> SignOffEntry:
    """Return the entry with its genus written by the rules and its texts tidied.

    Raises:
        NotAccepted: no technique is chosen, the day lies ahead or long ago, the genus is no
            genus, or the note is too long.
    """
    problems = []
    if entry.technique not in TECHNIQUES:
        problems.append(Problem(field="technique", sentence="Choose what is signed off."))
    if entry.signed_on > today or entry.signed_on < EARLIEST:
        sentence = "Give the day it was seen: today, or one before."
        problems.append(Problem(field="signed_on", sentence=sentence))
    note = " ".join(entry.note.split())
    if len(note) > LONGEST_NOTE:
        sentence = f"Keep the note to {LONGEST_NOTE} letters: here are {len(note)}."
        problems.append(Problem(field="note", sentence=sentence))
    genus, problem = _genus(entry.genus)
    problems += [problem] if problem else []
    if problems:
        raise NotAccepted(tuple(problems))
    return replace(entry, genus=genus, note=note)


def accepted_reason(reason: str) -> str:
    """Return the reason for withdrawing, tidied.

    Raises:
        NotAccepted: at "reason", there is none or it is too long.
    """
    tidy = " ".join(reason.split())
    if not tidy:
        raise NotAccepted.at("reason", "Say why it is withdrawn, for whoever reads it.")
    if len(tidy) > LONGEST_NOTE:
        raise NotAccepted.at("reason", f"Keep the reason to {LONGEST_NOTE} letters.")
    return tidy


def _genus(typed: str) -> tuple[str, Problem | None]:
    if not typed.strip():
        return "", None
    try:
        name = parse_plant_name(typed).name
    except NotAccepted as refused:
        return "", Problem(field="genus", sentence=refused.problems[0].sentence)
    if name.plain != name.genus:
        sentence = 'Write the genus alone, such as "Hebe", or leave it blank.'
        return "", Problem(field="genus", sentence=sentence)
    return name.genus, None
