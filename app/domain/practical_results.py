"""What became of the batches of a practical session, side by side and never ranked."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from app.domain.batch_rates import batch_facts
from app.domain.cutting_types import is_cutting
from app.domain.outcomes import Standing
from app.domain.strike_rates import NO_FACTS, GroupFacts, RateSquare, rate_of

FEWEST_PEOPLE: Final = 3
"""With fewer, what the others did could be told from the sum."""


@dataclass(frozen=True, kw_only=True)
class TakenBatch:
    """A batch of a practical session; `person_id` is who stuck it, None where nobody is named.

    Void and re-stuck batches stand in the list but not in the sum.
    """

    code: str
    plant: str
    person_id: int | None
    person: str
    stuck_on: date
    standing: Standing
    void: bool = False
    restuck: bool = False
    cutting_type: str = ""

    @property
    def counts(self) -> bool:
        """Whether it says something of how cuttings of this session struck."""
        return not self.void and not self.restuck


@dataclass(frozen=True, kw_only=True)
class ResultLine:
    """One batch with its rate."""

    batch: TakenBatch
    square: RateSquare


@dataclass(frozen=True, kw_only=True)
class PracticalResults:
    """The batches that somebody may see, by name and code, and the rate of all together.

    `pooled` is None where it is not shown or there is nothing to pool. `hidden` batches are other
    people's and left out for this reader. `way` is "division" or "graft" where the sum is of those,
    else "": batches of another way stand in the list but not in the sum.
    """

    lines: tuple[ResultLine, ...]
    pooled: RateSquare | None
    people: int
    hidden: int
    way: str


def results_of(
    batches: Sequence[TakenBatch], *, only_person_id: int | None, correlation: float
) -> PracticalResults:
    """Return the batches side by side; of one person's only, if that person is named.

    Whoever sees only their own is shown the sum once at least three people are in it.
    """
    ordered = sorted(batches, key=lambda each: (each.person.casefold(), each.code))
    seen = [each for each in ordered if only_person_id is None or each.person_id == only_person_id]
    way, counted = _one_way([each for each in ordered if each.counts])
    people = len({each.person_id for each in counted if each.person_id is not None})
    facts: GroupFacts = NO_FACTS
    for each in counted:
        facts = facts.plus(_facts(each, correlation=correlation))
    shown = only_person_id is None or people >= FEWEST_PEOPLE
    return PracticalResults(
        lines=tuple(
            ResultLine(batch=each, square=rate_of(_facts(each, correlation=correlation)))
            for each in seen
        ),
        pooled=rate_of(facts) if shown and counted else None,
        people=people,
        hidden=len(ordered) - len(seen),
        way=way,
    )


def _one_way(batches: list[TakenBatch]) -> tuple[str, list[TakenBatch]]:
    """Return the batches that can be summed: cuttings, or where there are none those of one way."""
    by_way: dict[str, list[TakenBatch]] = {}
    for each in batches:
        way = "" if is_cutting(each.cutting_type) else each.cutting_type
        by_way.setdefault(way, []).append(each)
    way = min(by_way, default="")
    return way, by_way.get(way, [])


def _facts(batch: TakenBatch, *, correlation: float) -> GroupFacts:
    return batch_facts(batch.standing, stuck_on=batch.stuck_on, correlation=correlation)
