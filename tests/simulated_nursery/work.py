"""Who did which batch, when and in which of two ways: what goes together in a real nursery.

Batches are finished here; only their counts matter.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.random import Generator
from scipy.special import expit, logit

from app.stats.share_grids import Floats
from app.stats.trees import Ints
from tests.simulated_nursery.batches import Habits, batch_rates, batch_sizes

_GENUS_LOGITS: Final = np.linspace(-1.0, 1.4, 8)
_SEASON_LOGIT: Final = 0.4
_BEST_PERSON_LOGIT: Final = 0.5
SPRING: Final = (4, 5, 6)


@dataclass(frozen=True, kw_only=True)
class Confounding:
    """How the second way goes with a person, a season and the hard genera.

    `favourite` is the chance (0 to 1) that the first person's batches of April to June are done
    the second way, `elsewhere` that of all others; `hard_logit` is added on the logit scale from
    the easiest genus to the hardest. `person_logit` is how much better that person is anyway.
    """

    favourite: float
    elsewhere: float
    hard_logit: float = 0.0
    person_logit: float = _BEST_PERSON_LOGIT


STRONG: Final = Confounding(favourite=0.85, elsewhere=0.12, hard_logit=1.5)
MODERATE: Final = Confounding(favourite=0.6, elsewhere=0.3, hard_logit=0.8)
RANDOMISED: Final = Confounding(favourite=0.5, elsewhere=0.5)


@dataclass(frozen=True, kw_only=True)
class Work:
    """Batches with their genus, month (1 to 12), person, way (1 or 0) and logit of the rate.

    `logits` are of the first way, before any effect of the way or fault of a person.
    """

    genus: Ints
    month: Ints
    person: Ints
    treated: Floats
    logits: Floats


def deal_out(
    batches: int, *, confounding: Confounding, people: int, rng: Generator, unevenly: float = 0.0
) -> Work:
    """Return work dealt out; `unevenly` above 0 gives the later persons the harder genera."""
    genus = rng.integers(0, len(_GENUS_LOGITS), batches)
    month = rng.integers(1, 13, batches)
    person = _people(genus, people=people, unevenly=unevenly, rng=rng)
    logits = (
        _GENUS_LOGITS[genus]
        + _SEASON_LOGIT * np.sin(2.0 * np.pi * (month - 1) / 12.0)
        + confounding.person_logit * (person == 0)
    )
    favourite = (person == 0) & np.isin(month, SPRING)
    chance = np.where(favourite, confounding.favourite, confounding.elsewhere)
    hard = 0.5 - genus / (len(_GENUS_LOGITS) - 1)
    treated = rng.random(batches) < expit(logit(chance) + confounding.hard_logit * hard)
    return Work(
        genus=genus, month=month, person=person, treated=treated.astype(float), logits=logits
    )


def _people(genus: Ints, *, people: int, unevenly: float, rng: Generator) -> Ints:
    # Gumbel's rule draws each row's person with chances in proportion to exp(score).
    place = np.arange(people) / max(people - 1, 1) - 0.5
    hard = 0.5 - genus / (len(_GENUS_LOGITS) - 1)
    scores = unevenly * np.outer(hard, place)
    return np.asarray((scores + rng.gumbel(size=scores.shape)).argmax(axis=1))


def finished_counts(
    rates: Floats, *, rng: Generator, habits: Habits | None = None
) -> tuple[Floats, Floats]:
    """Return numbers rooted and stuck of finished batches with these mean rates."""
    chosen = habits or Habits()
    sizes = batch_sizes(chosen, count=len(rates), rng=rng)
    own = batch_rates(rates, correlation=chosen.correlation, rng=rng)
    return rng.binomial(sizes, own).astype(float), sizes.astype(float)
