"""The whole answer to a comparison: the two sides, one genus or each by itself, other strengths."""

from dataclasses import dataclass

import numpy as np

from app.domain.comparisons import Comparison, compare, compare_fitted
from app.domain.comparisons_batches import ComparisonRecords, Outcomes, known_outcomes
from app.domain.comparisons_genera import GenusDifference, GenusDifferences, genus_differences
from app.domain.comparisons_models import Compared, FactorFit, compared, fit_factor
from app.domain.comparisons_questions import ComparisonQuestion
from app.domain.comparisons_strengths import StrengthDifference, Strengths
from app.domain.comparisons_verdicts import UNFAIR
from app.domain.nursery_fits import NurseryFit
from app.stats.holm_adjustments import holm_adjusted
from app.stats.share_grids import Bools


@dataclass(frozen=True, kw_only=True)
class OneGenus:
    """The genus asked about: its name, its difference leaning on the others, its batches alone.

    `leaning` is None where the comparison of all genera allows no figure, or where the genus has
    no batch.
    """

    name: str
    leaning: GenusDifference | None
    alone: Comparison


@dataclass(frozen=True, kw_only=True)
class ComparisonAnswer:
    """What is known: of all genera together, of the one asked about, of each, of each strength.

    `both_sides` counts batches left out because they belong to both levels.
    """

    question: ComparisonQuestion
    records: ComparisonRecords
    whole: Comparison
    genus: OneGenus | None
    genera: GenusDifferences | None
    strengths: tuple[StrengthDifference, ...]
    both_sides: int

    @property
    def leans(self) -> bool:
        """Whether the figure of the genus asked about leans on the other genera."""
        return self.genus is not None and self.genus.leaning is not None

    @property
    def main(self) -> Comparison:
        """The comparison that the page explains: of all, or of a genus that cannot lean on all."""
        return self.genus.alone if self.genus is not None and not self.leans else self.whole


def answer_comparison(
    question: ComparisonQuestion,
    *,
    records: ComparisonRecords,
    strengths: Strengths | None,
    fit: NurseryFit | None,
    correlation: float,
) -> ComparisonAnswer:
    """Return the answer from the batches of all genera.

    Levels of `records` are the question's two, then the base and the levels of `strengths`.
    `correlation` is that of two cuttings of one batch.
    """
    work = _Work(
        question=question,
        records=records,
        outcomes=known_outcomes(records.batches, fit=fit),
        correlation=correlation,
    )
    matter = work.matter()
    fitted = fit_factor(matter)
    whole = work.whole(matter, fitted)
    fair = fitted is not None and whole.verdict not in UNFAIR
    genera = genus_differences(matter, fitted=fitted) if fitted is not None and fair else None
    return ComparisonAnswer(
        question=question,
        records=records,
        whole=whole,
        genus=work.one_genus(genera) if question.genus else None,
        genera=genera,
        strengths=work.strengths(strengths) if strengths and fair else (),
        both_sides=int((records.members[0] & records.members[1]).sum()),
    )


@dataclass(frozen=True, kw_only=True)
class _Work:
    """The batches with their outcomes, from which each comparison takes its own."""

    question: ComparisonQuestion
    records: ComparisonRecords
    outcomes: Outcomes
    correlation: float

    def whole(self, matter: Compared, fitted: FactorFit | None) -> Comparison:
        """Return the comparison of the two levels asked about, whose regression is there."""
        which = self.records.of_either(0, 1)
        return compare_fitted(
            self.records.batches.chosen(which),
            sides=self.records.members[0][which],
            outcomes=self.outcomes.chosen(which),
            matter=matter,
            fitted=fitted,
        )

    def comparison(self, one: int, other: int, *, among: Bools | None = None) -> Comparison:
        """Return the comparison of two levels, `among` some of the batches only."""
        which = self.records.of_either(one, other)
        if among is not None:
            which = np.asarray(which & among)
        return compare(
            self.records.batches.chosen(which),
            sides=self.records.members[one][which],
            outcomes=self.outcomes.chosen(which),
            factor=self.question.factor,
            correlation=self.correlation,
        )

    def matter(self) -> Compared:
        """Return the usable batches of the two levels asked about."""
        which = self.records.of_either(0, 1)
        return compared(
            self.records.batches.chosen(which),
            sides=self.records.members[0][which].astype(np.float64),
            outcomes=self.outcomes.chosen(which),
            factor=self.question.factor,
            correlation=self.correlation,
        )

    def one_genus(self, genera: GenusDifferences | None) -> OneGenus:
        """Return what is known of the genus asked about."""
        wanted = self.question.genus.casefold()
        known = self.records.genera.items()
        number, name = next(
            (pair for pair in known if pair[1].casefold() == wanted), (-1, self.question.genus)
        )
        among = self.records.batches.genus == number
        return OneGenus(
            name=name,
            leaning=genera.of(number) if genera else None,
            alone=self.comparison(0, 1, among=among),
        )

    def strengths(self, strengths: Strengths) -> tuple[StrengthDifference, ...]:
        """Return each strength against the base, with the chances adjusted for all of them."""
        found = [
            (level, self.comparison(place, 2))
            for place, level in enumerate(strengths.levels, start=3)
        ]
        told = [
            (level, one, one.difference)
            for level, one in found
            if one.difference is not None and one.verdict not in UNFAIR
        ]
        adjusted = holm_adjusted([difference.chance for _, _, difference in told])
        return tuple(
            StrengthDifference(
                level=level,
                batches=one.one.batches,
                points=difference.points,
                low=difference.low,
                high=difference.high,
                adjusted=value,
            )
            for (level, one, difference), value in zip(told, adjusted, strict=True)
        )
