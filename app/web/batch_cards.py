"""What guides somebody at the form of a batch, as the page and the page's script are given it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from sqlalchemy.orm import Session

from app.domain.cutting_types import CuttingType
from app.domain.method_card_words import SHORT_GROUPS, CardLine
from app.domain.nursery import Hemisphere
from app.domain.problems import NotAccepted
from app.services.plant_names import resolve_plant
from app.store.queries.batch_choices import BatchChoices
from app.store.queries.batch_guides import BatchGuide, get_batch_guide
from app.web.batch_filling import starting_texts

NOTHING_CHOSEN = "Name the plant and choose the type to see what the method card says."


@dataclass(frozen=True, kw_only=True)
class ShownCard:
    """What the form shows beside its fields: a summary in a sentence, lines with their standing,
    texts to fill in by field, hints by field, cautions.

    `version_id` is that of the card, None where there is none for the plant and type.
    """

    summary: str = NOTHING_CHOSEN
    plant: str = ""
    version_id: int | None = None
    lines: tuple[CardLine, ...] = ()
    texts: Mapping[str, str] = field(default_factory=dict)
    hints: Mapping[str, str] = field(default_factory=dict)
    caution: str = ""
    rights: str = ""


def shown_card(
    session: Session,
    *,
    plant: str,
    cutting_type: str,
    choices: BatchChoices,
    hemisphere: Hemisphere,
    today: date,
) -> ShownCard:
    """Return what to show for a plant as typed and a type as chosen; both may be blank or odd."""
    try:
        name = resolve_plant(session, typed=plant).name if plant.strip() else None
    except NotAccepted:
        name = None
    if name is None:
        return ShownCard()
    chosen = CuttingType(cutting_type) if cutting_type in set(CuttingType) else None
    guide = get_batch_guide(
        session, name=name, cutting_type=chosen, hemisphere=hemisphere, today=today
    )
    card = guide.card
    return ShownCard(
        summary=_summary(guide, chosen),
        plant=name.plain,
        version_id=card.version_id if card else None,
        lines=guide.lines,
        texts=starting_texts(card.starting_values, choices=choices) if card else {},
        hints=guide.usual,
        caution=f"{guide.genus}: {guide.caution}",
        rights=guide.rights,
    )


def _summary(guide: BatchGuide, chosen: CuttingType | None) -> str:
    kinds = ", ".join(guide.types)
    if guide.card is None:
        has = f"There are method cards for {kinds}." if kinds else "No method card for it yet."
        what = f"{guide.genus}, {chosen}" if chosen else guide.genus
        return f"{what}: {has}"
    said = [
        f"{line.label.lower()} {line.words}" for line in guide.lines if line.group in SHORT_GROUPS
    ]
    sources = dict.fromkeys(
        line.standing for line in guide.lines if line.standing and line.group in SHORT_GROUPS
    )
    card = f"The method card for {guide.card.plant}, {guide.card.cutting_type}"
    return f"{card}: {'; '.join(said)} ({'; '.join(sources)})."
