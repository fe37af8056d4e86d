"""How one person's batches did beside what others got with the same work, in all and by type."""

from dataclasses import dataclass

from app.domain.comparisons_batches import LoggedBatches, Outcomes
from app.domain.fit_records import type_of_code
from app.domain.standouts import LabelledBatches, Standout, standouts
from app.domain.standouts_words import difference_words
from app.domain.strike_rates_words import percent


@dataclass(frozen=True, kw_only=True)
class ComparedType:
    """One cutting type in words: the finished batches, what rooted, what was to be expected."""

    label: str
    batches: int
    rooted: str
    expected: str
    difference: str


@dataclass(frozen=True, kw_only=True)
class PersonCompared:
    """The whole of a person's batches, None where nothing can be said, and each type of them."""

    whole: Standout | None
    types: tuple[ComparedType, ...] = ()


def compare_person(
    batches: LoggedBatches,
    *,
    labelled: LabelledBatches,
    person_id: int,
    outcomes: Outcomes,
    correlation: float,
) -> PersonCompared:
    """Return how a person did; `labelled` says who stuck which batch.

    Each batch is held against what its genus, method and month gave everybody. Of fewer than
    three finished batches, in all or of a type, nothing is said.
    """
    by_person = standouts(batches, labelled=labelled, outcomes=outcomes, correlation=correlation)
    lines = by_person.only(person_id).lines if by_person else ()
    if not lines:
        return PersonCompared(whole=None)
    rows = labelled.rows[labelled.labels == person_id]
    own = LabelledBatches(rows=rows, labels=batches.cutting_type[rows])
    by_type = standouts(batches, labelled=own, outcomes=outcomes, correlation=correlation)
    found = sorted(by_type.lines, key=lambda line: line.label) if by_type else []
    return PersonCompared(whole=lines[0], types=tuple(_told(line) for line in found))


def _told(line: Standout) -> ComparedType:
    return ComparedType(
        label=type_of_code(line.label) or "not recorded",
        batches=line.batches,
        rooted=percent(line.observed),
        expected=percent(line.expected),
        difference=difference_words(line),
    )
