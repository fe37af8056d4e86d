"""Plant names: one typed line read into its parts, put right, asked about, or refused.

Rules: International Code of Nomenclature for Cultivated Plants (ICNCP), 9th edition (2016), and
International Code of Nomenclature for algae, fungi, and plants (ICN, 2018). Both are cited by
article FROM MEMORY.
"""

import re
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

from app.domain.plant_name_heads import read_head
from app.domain.plant_name_lines import cut_at_quotes, quotes_are_closed, tidy_line
from app.domain.plant_name_parts import SIGN, HybridKind, NamePart, NamePiece, PlantName
from app.domain.plant_name_rests import read_rest, take_bracketed_groups
from app.domain.plant_name_rules import NameStatus, Remarks, read_epithet, refuse
from app.domain.plant_name_words import NOT_NAMED, SIGN_LETTERS, is_small, rank_of
from app.domain.problems import NotAccepted

__all__ = [
    "CONFIRM",
    "HybridKind",
    "NamePart",
    "NamePiece",
    "NameStatus",
    "ParsedName",
    "PlantName",
    "accept_plant_name",
    "kept_plant_name",
    "parse_plant_name",
]

CONFIRM: Final = "If it is right as it is, tick “Yes, as typed”."
_READINGS: Final = 3
_CROSS: Final = re.compile(r"\s[×xXхХ]\s+(?=[^'\s])")
_GENUS_AND_SPECIES: Final = re.compile(r"[^\W\d_]+\s(?P<second>[^\W\d_][^\W\d_-]+)(?=\s|$)")
_ABBREVIATED_GENUS: Final = re.compile(r"(?P<letter>[^\W\d_])\.\s*(?=[^\W\d_])")


@dataclass(frozen=True, kw_only=True)
class ParsedName:
    """A typed name as it was taken. `notes` are sentences on what was changed or is asked."""

    status: NameStatus
    name: PlantName
    normalised: str
    notes: tuple[str, ...] = ()


def parse_plant_name(text: str) -> ParsedName:
    """Return the name typed in one box, in its parts; `normalised` read again gives itself.

    Raises:
        NotAccepted: at the field "plant", with a sentence that says what to do.
    """
    remarks = Remarks()
    name = _settled(_read(tidy_line(text, remarks=remarks), remarks=remarks), remarks=remarks)
    if name.plain != text and remarks.status is NameStatus.OK:
        remarks.put_right(f"Kept as {name.plain}")
    return ParsedName(
        status=remarks.status, name=name, normalised=name.plain, notes=tuple(remarks.sentences)
    )


@lru_cache(maxsize=4096)
def kept_plant_name(plain: str) -> PlantName:
    """Return the parts of a name from the line it is stored as.

    A line that today's rules would refuse is shown as it stands, in one upright piece.
    """
    try:
        return parse_plant_name(plain).name
    except NotAccepted:
        return PlantName(genus="", unplaced=plain)


def accept_plant_name(text: str, *, confirmed: str = "") -> PlantName:
    """Return the typed name; one that raises a question only if `confirmed` is its plain line.

    So a tick holds for the very name it was asked about, and not for one typed over it later.

    Raises:
        NotAccepted: at "plant", the name is refused, or its questions are not answered yet.
    """
    parsed = parse_plant_name(text)
    if parsed.status is NameStatus.WARN and confirmed != parsed.normalised:
        raise refuse(" ".join((*parsed.notes, CONFIRM)))
    return parsed.name


def _settled(name: PlantName, *, remarks: Remarks) -> PlantName:
    """Return the name as its own plain line is read, so that what is kept always reads as itself.

    Raises:
        NotAccepted: what was typed is so muddled that it reads differently each time.
    """
    for _ in range(_READINGS):
        more = Remarks()
        again = _read(tidy_line(name.plain, remarks=more), remarks=more)
        again = replace(again, trade_designation=name.trade_designation or again.trade_designation)
        if again == name:
            return name
        for sentence in more.sentences:
            remarks.ask(sentence)
        name = again
    raise refuse("Write the name more plainly: genus, species, then the cultivar in quotes.")


def _read(line: str, *, remarks: Remarks) -> PlantName:
    """Return a name or a formula of two (ICN Art. H.2)."""
    for cross in _CROSS.finditer(line):
        left, right = line[: cross.start()].strip(), line[cross.end() :].strip()
        if _are_parents(left, right):
            first = _read_one(left, remarks=remarks)
            second = _read(_parent_in_full(right, first.genus, remarks=remarks), remarks=remarks)
            if cross.group().strip() != SIGN:
                remarks.put_right(f"The letter x became the hybrid sign {SIGN}.")
            return replace(
                first, hybrid=HybridKind.FORMULA, parent_hybrid=first.hybrid, second_parent=second
            )
    return _read_one(line, remarks=remarks)


def _are_parents(left: str, right: str) -> bool:
    """Return whether a sign between two texts crosses them, rather than marking one as hybrid."""
    words = [word for word in left.split() if word not in SIGN_LETTERS]
    ends_in_sign = left[-2:-1] == " " and left[-1] in SIGN_LETTERS
    if not words or ends_in_sign or not quotes_are_closed(left):
        return False
    return len(words) > 1 or (not is_small(right) and _has_species(right))


def _has_species(text: str) -> bool:
    found = _GENUS_AND_SPECIES.match(text)
    return found is not None and is_small(found["second"]) and not rank_of(found["second"])


def _parent_in_full(typed: str, genus: str, *, remarks: Remarks) -> str:
    """Return the second parent with its genus, which may be typed as one letter or left out."""
    short = _ABBREVIATED_GENUS.match(typed)
    if short is not None and short["letter"].upper() == genus[0]:
        full = f"{genus} {typed[short.end() :]}"
    elif is_small(typed) and not _has_species(typed):
        full = f"{genus} {typed}"
    else:
        return typed
    remarks.put_right(f"The second parent is kept with its genus: {genus}.")
    return full


def _read_one(line: str, *, remarks: Remarks) -> PlantName:
    cut = cut_at_quotes(line, remarks=remarks)
    if not cut.before:
        raise refuse("Begin with the genus: a cultivar epithet alone does not say which plant.")
    groups = take_bracketed_groups(cut, remarks=remarks)
    head = read_head(groups.before, remarks=remarks)
    cultivar = (
        ""
        if cut.cultivar is None
        else read_epithet(cut.cultivar, genus=head.genus, remarks=remarks)
    )
    rest = read_rest(head, groups=groups, has_cultivar=bool(cultivar), remarks=remarks)
    name = PlantName(
        genus=head.genus,
        hybrid=head.hybrid,
        qualifier=head.qualifier,
        species=head.species or rest.species,
        infraspecific=head.infraspecific,
        unplaced=rest.unplaced,
        group=rest.group,
        grex=rest.grex,
        cultivar=cultivar,
        trade_designation=rest.trade_designation,
    )
    return _question_identity(name, remarks=remarks)


def _question_identity(name: PlantName, *, remarks: Remarks) -> PlantName:
    """Ask about a name that does not say all; a cultivar needs no "sp." beside it."""
    named = bool(name.species or name.cultivar or name.group or name.grex or name.unplaced)
    if name.qualifier == NOT_NAMED and name.cultivar and not name.unplaced:
        remarks.put_right(f"With a cultivar epithet, {NOT_NAMED} is not needed.")
        return replace(name, qualifier="")
    if name.qualifier:
        remarks.ask("This is a working name, not a full identity. Keep it?")
    elif not named:
        remarks.ask("Only the genus is given. Is more known?")
    return name
