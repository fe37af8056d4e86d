"""How much a cluster of alike items tells, counted in independent items."""


def design_effect(size: float, *, correlation: float) -> float:
    """Return 1 + (size - 1) correlation: how much the cluster inflates the variance of a mean.

    `size` is the number of items in the cluster (1 or more), `correlation` that of two items of
    one cluster (0 to 1). The answer is 1 or more.

    Source: the variance inflation of L. Kish, Survey Sampling (Wiley 1965); for proportions
    J. N. K. Rao and A. J. Scott (1992), Biometrics 48:577-585.

    Raises:
        ValueError: the size is below 1 or the correlation outside 0 to 1.
    """
    if not size >= 1.0:
        raise ValueError(f"a cluster holds at least one item, not {size}")
    if not 0.0 <= correlation <= 1.0:
        raise ValueError(f"a correlation inside clusters lies from 0 to 1, not at {correlation}")
    return 1.0 + (size - 1.0) * correlation


def effective_size(size: float, *, correlation: float) -> float:
    """Return the number of independent items a cluster is worth: size / design effect.

    It grows with `size` but never passes 1 / correlation; without correlation it is `size`.

    Raises:
        ValueError: as for `design_effect`.
    """
    return size / design_effect(size, correlation=correlation)
