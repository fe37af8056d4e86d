"""Reading what this nursery found of the plants of a method card: rates and days to root."""

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.card_days import days_of_groups
from app.domain.nursery_fits import NurseryFit
from app.domain.rooting_times import RootingDay
from app.domain.strike_rates_answers import RateAnswer, RateGroup
from app.domain.strike_rates_keys import RateKey
from app.domain.strike_rates_questions import (
    USUAL_RESTUCK,
    RateFilter,
    RateQuestion,
    usual_day_of,
)
from app.store.models.plant_names import PlantNameRow
from app.store.queries.fit_records import read_fit_records
from app.store.queries.learned_rates import get_learned_answer, read_members
from app.store.queries.method_cards import KnownCard

BY: Final = (RateKey.MONTH, RateKey.HORMONE)


@dataclass(frozen=True, kw_only=True)
class Finding:
    """One month, or one treatment: its group of batches, and how long they took to root.

    `half` is the day by which half of those that root have, None where no batch with roots is
    finished; `timed` is how many finished batches it rests on.
    """

    group: RateGroup
    half: RootingDay | None
    timed: int


@dataclass(frozen=True, kw_only=True)
class FoundBy:
    """What was found by one name, with the answer it comes from."""

    answer: RateAnswer
    findings: tuple[Finding, ...]


def card_question(session: Session, *, card: KnownCard) -> RateQuestion | None:
    """Return the question about exactly the plants a card is for, None where the log has none.

    A card for a species asks for its plant names alone, one for a plant name for that one.
    """
    plants: tuple[str, ...] = ()
    if card.plant_name:
        plants = (card.plant_name,)
    elif card.species:
        plants = tuple(
            session.scalars(
                select(PlantNameRow.plain)
                .where(PlantNameRow.genus_id == card.genus_id, PlantNameRow.species == card.species)
                .order_by(PlantNameRow.plain)
            )
        )
        if not plants:
            return None
    where = (
        RateFilter(key=RateKey.GENUS, value=card.genus),
        RateFilter(key=RateKey.CUTTING_TYPE, value=card.cutting_type.value),
        *(RateFilter(key=RateKey.PLANT, value=plant) for plant in plants),
    )
    return RateQuestion(where=where, restuck=USUAL_RESTUCK, day_of=usual_day_of(where))


def find_card_findings(
    session: Session, *, card: KnownCard, fit: NurseryFit
) -> tuple[FoundBy, ...]:
    """Return what was found by month and by treatment, empty where no batch is in the log."""
    question = card_question(session, card=card)
    if question is None:
        return ()
    asked = [replace(question, by=(key,)) for key in BY]
    answers = [get_learned_answer(session, question=each, fit=fit) for each in asked]
    if not answers[0].groups:
        return ()
    records = read_fit_records(
        session, genus_id=card.genus_id, cutting_type=card.cutting_type.value
    )
    found = []
    for answer in answers:
        places = {group.values: place for place, group in enumerate(answer.groups)}
        members = read_members(session, question=answer.question, places=places)
        in_group = dict(zip(members.batch_ids.tolist(), members.groups.tolist(), strict=True))
        groups = np.array(
            [in_group.get(batch_id, -1) for batch_id in records.batch_ids.tolist()],
            dtype=np.int64,
        )
        days = days_of_groups(records.histories, groups=groups, count=len(places), fit=fit)
        found.append(
            FoundBy(
                answer=answer,
                findings=tuple(
                    Finding(group=group, half=half, timed=timed)
                    for group, (half, timed) in zip(answer.groups, days, strict=True)
                ),
            )
        )
    return tuple(found)
