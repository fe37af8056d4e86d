"""The command: `python -m tests.calibration [NAME] [--runs N] [--seed S]`."""

import argparse
import sys
from collections.abc import Sequence
from typing import Final

from tests.calibration import (
    check_habits,
    intervals,
    next_looks,
    open_batches,
    plans,
    small_groups,
    standing_out,
    times,
    two_ways,
    whole_nursery,
)

CLAIMS: Final = {
    module.CLAIM.name: module.CLAIM
    for module in (
        intervals,
        open_batches,
        check_habits,
        whole_nursery,
        small_groups,
        standing_out,
        two_ways,
        times,
        next_looks,
        plans,
    )
}
USUAL_SEED: Final = 20261125


def main(arguments: Sequence[str] | None = None) -> int:
    """Print one claim's tables, or the list of claims; return the exit code."""
    parser = argparse.ArgumentParser(prog="python -m tests.calibration", description=__doc__)
    parser.add_argument("name", nargs="?", choices=sorted(CLAIMS), help="the claim to print")
    parser.add_argument("--runs", type=int, help="simulated nurseries per line")
    parser.add_argument("--seed", type=int, default=USUAL_SEED)
    asked = parser.parse_args(arguments)
    if asked.name is None:
        for claim in CLAIMS.values():
            print(f"{claim.name:14} {claim.shows} ({claim.runs} runs)")
        return 0
    claim = CLAIMS[asked.name]
    runs = claim.runs if asked.runs is None else asked.runs
    print(f"{claim.shows} {runs} runs per line, seed {asked.seed}.")
    for table in claim.make(runs, asked.seed):
        print(f"\n{table}", flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
