"""Plant passports: what one says, by the territory it is issued in, and what a nursery must enter.

EU: Regulation (EU) 2016/2031, Annex VII Part A as adopted. Great Britain: the same as retained and
amended. Layout: Implementing Regulation (EU) 2017/2313, Article 2. This is a record of what was
issued and no advice in law: the plant-health authority decides.
"""

import re
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from typing import Final

from app.domain.problems import NotAccepted, Problem

KEPT_YEARS: Final = 3
"""How long one is kept at the least (Art. 95(3), confirmed in the text for Great Britain)."""
MOST_LABELS: Final = 10_000
LONGEST_TEXT: Final = 120
GB_TITLE: Final = "UK Plant Passport"
EU_TITLE: Final = "Plant Passport"
NORTHERN_IRELAND: Final = "GB(NI)"

AUTHORITY: Final = (
    "Whether plants need a passport, and whether you may issue one, your plant-health authority "
    "decides: ask it. Rules and lists of plants change. This log keeps what you issued; it does "
    "not make an authorised operator of anybody."
)
C_MAY_BE_BLANK: Final = (
    "Only for plants ready for sale to final users without further preparation, with no risk of "
    "spreading quarantine pests and not of the listed types."
)
_MEMBER_STATE: Final = re.compile(r"[A-Z]{2}")
_OPERATOR: Final = re.compile(r"[A-Za-z0-9][A-Za-z0-9 ./-]{0,39}")
_ORIGINS: Final = re.compile(r"[A-Z]{2}(, ?[A-Z]{2})*|[^\W\d_][\w ,.'()-]{2,}")


class Territory(StrEnum):
    """Whose rules a passport is issued by."""

    EU = "EU"
    GB = "GB"


@dataclass(frozen=True, kw_only=True)
class PassportSettings:
    """What a nursery's passports have in common; without an operator number none is issued.

    `member_state` is the two-letter code before the number and `own_title` the words in an
    official language other than English; both are of the EU only.
    """

    territory: Territory = Territory.GB
    operator_number: str = ""
    member_state: str = ""
    own_title: str = ""

    @property
    def on(self) -> bool:
        """Whether passports can be issued."""
        return bool(self.operator_number)


@dataclass(frozen=True, kw_only=True)
class PassportEntry:
    """A passport as it is asked for.

    `traceability_code` is the batch's or lot's code, or blank with `blank_reason`. `origin` is a
    third country or a two-letter code. `plants` travel under it, on `labels` labels.
    """

    plant: str
    traceability_code: str
    origin: str
    plants: int
    labels: int = 1
    blank_reason: str = ""
    northern_ireland: bool = False
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class PassportContent:
    """The words on a passport: title, whether the flag of the Union stands there, A. to E."""

    territory: Territory
    title: str
    a: str
    b: str
    c: str
    d: str
    e: str = ""

    @property
    def has_flag(self) -> bool:
        """Whether the flag of the Union stands in the upper left-hand corner."""
        return self.territory is Territory.EU

    @property
    def elements(self) -> tuple[tuple[str, str], ...]:
        """The letters with their words, as they are printed; a blank C. is left out."""
        pairs = (("A", self.a), ("B", self.b), ("C", self.c), ("D", self.d), ("E", self.e))
        return tuple((letter, words) for letter, words in pairs if words)


def accepted_settings(settings: PassportSettings) -> PassportSettings:
    """Return the settings tidied; a blank operator number turns passports off.

    Raises:
        NotAccepted: the number or the member state cannot be one, by its field.
    """
    tidy = replace(
        settings,
        operator_number=" ".join(settings.operator_number.split()),
        member_state=settings.member_state.strip().upper(),
        own_title=" ".join(settings.own_title.split()),
    )
    problems = []
    if tidy.operator_number and not _OPERATOR.fullmatch(tidy.operator_number):
        sentence = "Give your registration number in letters and figures, as the register has it."
        problems.append(Problem(field="operator_number", sentence=sentence))
    eu = tidy.territory is Territory.EU
    if eu and tidy.on and not _MEMBER_STATE.fullmatch(tidy.member_state):
        sentence = "Give the two letters of your Member State, such as FR."
        problems.append(Problem(field="member_state", sentence=sentence))
    if len(tidy.own_title) > LONGEST_TEXT:
        sentence = f"Keep it within {LONGEST_TEXT} letters."
        problems.append(Problem(field="own_title", sentence=sentence))
    if problems:
        raise NotAccepted(tuple(problems))
    return tidy if eu else replace(tidy, member_state="", own_title="")


def accepted_passport(entry: PassportEntry, *, settings: PassportSettings) -> PassportEntry:
    """Return the entry tidied.

    Raises:
        NotAccepted: passports are off, or something is missing or cannot be, by its field.
    """
    if not settings.on:
        sentence = "Passports are off: the head enters the operator number first."
        raise NotAccepted.at("", sentence)
    tidy = replace(
        entry,
        plant=" ".join(entry.plant.split()),
        traceability_code=" ".join(entry.traceability_code.split()),
        origin=" ".join(entry.origin.split()),
        blank_reason=" ".join(entry.blank_reason.split()),
        note=entry.note.strip(),
        northern_ireland=entry.northern_ireland and settings.territory is Territory.GB,
    )
    if problems := tuple(_problems(tidy)):
        raise NotAccepted(problems)
    return tidy


def passport_content(entry: PassportEntry, *, settings: PassportSettings) -> PassportContent:
    """Return the words of an accepted passport under the nursery's settings."""
    if settings.territory is Territory.EU:
        own = settings.own_title
        return PassportContent(
            territory=Territory.EU,
            title=f"{own} / {EU_TITLE}" if own else EU_TITLE,
            a=entry.plant,
            b=f"{settings.member_state}-{settings.operator_number}",
            c=entry.traceability_code,
            d=entry.origin,
        )
    return PassportContent(
        territory=Territory.GB,
        title=GB_TITLE,
        a=entry.plant,
        b=settings.operator_number,
        c=entry.traceability_code,
        d=entry.origin,
        e=NORTHERN_IRELAND if entry.northern_ireland else "",
    )


def usual_origin(settings: PassportSettings) -> str:
    """Return what stands under D. for plants raised here."""
    return settings.member_state if settings.territory is Territory.EU else Territory.GB.value


def kept_until(issued_on: date) -> date:
    """Return the first day on which a passport need no longer be kept; the log keeps it anyway."""
    try:
        return issued_on.replace(year=issued_on.year + KEPT_YEARS)
    except ValueError:  # the 29th of February
        return issued_on.replace(year=issued_on.year + KEPT_YEARS, month=3, day=1)


def _problems(entry: PassportEntry) -> list[Problem]:
    faults = {
        "plant": not entry.plant and "A passport bears the botanical name.",
        "traceability_code": _code_fault(entry),
        "origin": not _ORIGINS.fullmatch(entry.origin)
        and "Give the country of origin: two letters such as GB, or its name.",
        "plants": entry.plants < 1 and "Say how many plants travel under it, from 1 upwards.",
        "labels": not 1 <= entry.labels <= MOST_LABELS
        and f"Give the number of labels, from 1 to {MOST_LABELS:,}.",
    }
    long = {
        field: len(getattr(entry, field)) > LONGEST_TEXT
        and f"Keep it within {LONGEST_TEXT} letters."
        for field in ("plant", "traceability_code", "origin", "blank_reason", "note")
    }
    return [
        Problem(field=field, sentence=said)
        for found in (faults, long)
        for field, said in found.items()
        if said
    ]


def _code_fault(entry: PassportEntry) -> str:
    if entry.traceability_code or entry.blank_reason:
        return ""
    return "Give the traceability code; if it may be left out, say why."
