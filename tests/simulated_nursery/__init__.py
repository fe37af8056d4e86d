"""A nursery whose truth is known: every calibration claim is made on batches drawn here.

`batches` grows them (true rates, clustering, rooting curves, how the others die), `looks` has them
counted (check habits, what was given up or cleared), `work` deals them out to people, months and
two ways of doing it so that these go together (confounding). Seeds come in as generators.
"""

from tests.simulated_nursery.batches import (
    EARLY_ROT,
    LATE_DEATH,
    LINGERING,
    DeathHabit,
    Group,
    GrownBatch,
    Habits,
    RootingShape,
    batch_rates,
    batch_sizes,
    grow,
    relative_days,
    share_in_time,
)
from tests.simulated_nursery.looks import CheckHabit, Counted, Looks, check_days, counted, given_up
from tests.simulated_nursery.nurseries import SimulatedBatches, simulate
from tests.simulated_nursery.work import (
    MODERATE,
    RANDOMISED,
    STRONG,
    Confounding,
    Work,
    deal_out,
    finished_counts,
)

__all__ = [
    "EARLY_ROT",
    "LATE_DEATH",
    "LINGERING",
    "MODERATE",
    "RANDOMISED",
    "STRONG",
    "CheckHabit",
    "Confounding",
    "Counted",
    "DeathHabit",
    "Group",
    "GrownBatch",
    "Habits",
    "Looks",
    "RootingShape",
    "SimulatedBatches",
    "Work",
    "batch_rates",
    "batch_sizes",
    "check_days",
    "counted",
    "deal_out",
    "finished_counts",
    "given_up",
    "grow",
    "relative_days",
    "share_in_time",
    "simulate",
]
