"""The command: `python -m tests.benchmark` prints ratios and how long learning takes."""

import sys
from time import process_time
from typing import Final

import numpy as np

from app.domain.nursery_fits import fit_nursery
from tests.benchmark.races import SEED, all_races
from tests.calibration.pages import genus_rates, records_of
from tests.simulated_nursery import Group, simulate

BATCHES: Final = (1_000, 10_000)
GENERA: Final = 40


def learning_seconds(batches: int) -> tuple[float, float]:
    """Return the seconds of learning from so many batches, and of one table by genus."""
    rng = np.random.default_rng(SEED)
    rates, medians = rng.uniform(0.3, 0.9, GENERA), rng.uniform(18.0, 50.0, GENERA)
    groups = [
        Group(rate=float(rate), median_days=float(days))
        for rate, days in zip(rates, medians, strict=True)
    ]
    log = simulate(
        groups,
        group_of=rng.integers(0, GENERA, batches),
        stuck_ago=rng.integers(0, 3650, batches),
        rng=rng,
    )
    records = records_of(log)
    begun = process_time()
    fit = fit_nursery(records)
    learned = process_time() - begun
    genus_rates(fit, log, np.arange(batches))
    begun = process_time()
    genus_rates(fit, log, np.arange(batches))
    return learned, process_time() - begun


def main() -> int:
    """Print every race, then the computing time of learning; return the exit code."""
    print(f"{'ours / reference':40} {'size':>7} {'ours, ms':>9} {'times faster':>13} {'apart':>9}")
    for race in all_races():
        print(
            f"{race.says:40} {race.size:7d} {1000.0 * race.ours:9.3f} {race.ratio:13.1f} "
            f"{race.apart:9.1e}"
        )
    for batches in BATCHES:
        learned, shown = learning_seconds(batches)
        print(f"{batches} batches: {learned:.2f} s to learn, {shown:.3f} s for rates by genus")
    return 0


if __name__ == "__main__":
    sys.exit(main())
