"""Looking at several differences at once without taking chance finds for real ones."""

from collections.abc import Sequence


def holm_adjusted(values: Sequence[float]) -> tuple[float, ...]:
    """Return Holm's adjusted values (0 to 1) in the order given; small ones stand.

    The i-th smallest of m is multiplied by m - i + 1, none becomes smaller than one before it.

    Source: S. Holm (1979), Scandinavian Journal of Statistics 6:65-70 (from memory). Checked
    against statsmodels.
    """
    order = sorted(range(len(values)), key=lambda place: values[place])
    adjusted = [0.0] * len(values)
    highest = 0.0
    for rank, place in enumerate(order):
        highest = max(highest, min(1.0, (len(values) - rank) * values[place]))
        adjusted[place] = highest
    return tuple(adjusted)
