"""The sheet of method cards: what a card says is corrected as a new version; new ones are added."""

from dataclasses import replace
from typing import Any, Final

from app.domain.card_months import month_names, parse_months, turned
from app.domain.cutting_types import Cut, CuttingType, Section
from app.domain.method_cards import CardEntry, CardValues
from app.domain.problems import NotAccepted, Problem
from app.domain.record_sheets import RecordColumn, Values
from app.domain.sheet_cells import choice_reader, read_decimal, read_whole, read_yes
from app.services.method_card_versions import newest_version
from app.services.method_cards import add_card, change_card
from app.services.record_sheets import Kept, SheetKind, Work
from app.services.sheet_names import writer_of
from app.store.models.method_cards import MethodCard
from app.store.queries.method_card_exports import METHOD_CARDS, PLAIN
from app.store.queries.method_cards import values_of
from app.store.queries.nursery import get_nursery

_RETIRE: Final = "Retire a card, or take it up again, on its own page."
_LISTS: Final = "Write the steps and what goes wrong on the card's own page."
_STAYS: Final = "What a card is for stays. Leave card blank on a line of its own for another one."
_OF: Final = ("genus", "species", "plant", "cutting_type")


def _read_months(text: str, *, column: str) -> str:
    return month_names(parse_months(text, field=column))


def _said(work: Work, values: Values) -> dict[str, Any]:
    """Return the fields of a card's values that these columns say."""
    said = {column: value for column, value in values.items() if column in PLAIN}
    said |= {column: said[column] or None for column in ("cut", "section") if column in said}
    if "note" in values:
        said["notes"] = values["note"]
    if "months" in values:
        hemisphere = get_nursery(work.session).hemisphere
        said["months"] = turned(parse_months(values["months"]), hemisphere=hemisphere)
    return said


def _add(work: Work, values: Values) -> None:
    entry = CardEntry(
        **{column: values[column] for column in _OF}, values=CardValues(**_said(work, values))
    )
    actor = writer_of(work, entering="method cards")
    add_card(work.session, actor=actor, now=work.now, entry=entry)


def _correct(work: Work, kept: Kept, values: Values) -> None:
    if other := [column for column in _OF if column in values]:
        raise NotAccepted(tuple(Problem(field=column, sentence=_STAYS) for column in other))
    card = work.session.get_one(MethodCard, kept.id)
    before = values_of(newest_version(work.session, card=card))
    change_card(
        work.session,
        actor=writer_of(work, entering="method cards"),
        now=work.now,
        card_id=card.id,
        version=card.version,
        values=replace(before, **_said(work, values)),
    )


METHOD_CARD_SHEET: Final = SheetKind(
    name="method-cards",
    table=METHOD_CARDS,
    key="card",
    coded=True,
    needed=("cutting_type",),
    columns=(
        RecordColumn(name="card", read=read_whole),
        RecordColumn(name="genus"),
        RecordColumn(name="species"),
        RecordColumn(name="plant"),
        RecordColumn(name="cutting_type", read=choice_reader(CuttingType)),
        RecordColumn(name="material"),
        RecordColumn(name="cut", read=choice_reader(Cut)),
        RecordColumn(name="section", read=choice_reader(Section)),
        RecordColumn(name="length_cm_low", read=read_decimal, blank=None),
        RecordColumn(name="length_cm_high", read=read_decimal, blank=None),
        RecordColumn(name="leaves_low", read=read_whole, blank=None),
        RecordColumn(name="leaves_high", read=read_whole, blank=None),
        RecordColumn(name="hormone_substance"),
        RecordColumn(name="hormone_form"),
        RecordColumn(name="hormone_ppm_low", read=read_whole, blank=None),
        RecordColumn(name="hormone_ppm_high", read=read_whole, blank=None),
        RecordColumn(name="weeks_low", read=read_decimal, blank=None),
        RecordColumn(name="weeks_high", read=read_decimal, blank=None),
        RecordColumn(name="cover"),
        RecordColumn(name="bottom_heat_c_low", read=read_decimal, blank=None),
        RecordColumn(name="bottom_heat_c_high", read=read_decimal, blank=None),
        RecordColumn(name="mix"),
        RecordColumn(name="container"),
        RecordColumn(name="light"),
        RecordColumn(name="aftercare"),
        RecordColumn(name="checks"),
        RecordColumn(name="note"),
        RecordColumn(name="retired", read=read_yes, blank=False, fixed=_RETIRE),
        RecordColumn(name="months", read=_read_months),
        RecordColumn(name="steps", fixed=_LISTS),
        RecordColumn(name="troubles", fixed=_LISTS),
    ),
    columns_of={
        "length": "length_cm_low",
        "leaves": "leaves_low",
        "hormone_ppm": "hormone_ppm_low",
        "weeks": "weeks_low",
        "bottom_heat": "bottom_heat_c_low",
        "notes": "note",
    },
    add=_add,
    correct=_correct,
    most=200,
)
