"""Groups of clusters, each asked for its own median alone, against direct integration."""

import numpy as np
from scipy.stats import logistic, norm

from app.stats.histories import Histories
from app.stats.onset_groups import group_medians
from app.stats.onset_trees import LOG_MEDIANS, START_MEDIAN

SCALE, SD = 0.2, 0.15


def histories(*looks: tuple[int, float, float, float], waiting: tuple[float, ...]) -> Histories:
    cluster, start, end, onsets = (np.array(column) for column in zip(*looks, strict=True))
    nothing = np.zeros(len(waiting))
    return Histories(
        cluster=cluster.astype(np.int64),
        start=start.astype(float),
        end=end.astype(float),
        onsets=onsets.astype(float),
        failures=np.zeros(len(cluster)),
        size=np.full(len(waiting), 50.0),
        waiting=np.array(waiting),
        waiting_age=nothing,
        written_off=nothing,
        written_off_age=nothing,
    )


LOOKS = (
    (0, 0.0, 20.0, 5.0),
    (0, 20.0, 30.0, 20.0),
    (1, 0.0, 40.0, 10.0),
    (1, 40.0, 60.0, 25.0),
    (2, 0.0, 21.0, 9.0),
    (3, 0.0, 21.0, 9.0),
)


def test_a_group_is_what_its_own_clusters_say_under_a_broad_prior() -> None:
    masses, behind = group_medians(
        histories(*LOOKS, waiting=(0, 0, 0, 4)),
        groups=np.array([0, 1, 0, 0]),
        count=3,
        scale=SCALE,
        cluster_sd=SD,
    )
    assert behind.tolist() == [2, 1, 0]
    # By scipy, on a fine grid of the cluster's own log median round the group's.
    own = np.linspace(LOG_MEDIANS[0] - 2.0, LOG_MEDIANS[-1] + 2.0, 4001)
    chance = [
        logistic.cdf((np.log(end) - own) / SCALE)
        - (logistic.cdf((np.log(start) - own) / SCALE) if start else 0.0)
        for _, start, end, _ in LOOKS
    ]
    posterior = norm.pdf(LOG_MEDIANS, np.log(START_MEDIAN), 0.6)
    for cluster in (0, 2):
        rows = [place for place, look in enumerate(LOOKS) if look[0] == cluster]
        likelihood = np.prod([chance[row] ** LOOKS[row][3] for row in rows], axis=0)
        posterior *= [
            float((likelihood * norm.pdf(own, centre, SD)).sum()) for centre in LOG_MEDIANS
        ]
    posterior /= posterior.sum()
    mean = float(masses[0] @ LOG_MEDIANS)
    assert abs(mean - float(posterior @ LOG_MEDIANS)) < 0.01
    spread = float(np.sqrt(masses[0] @ (LOG_MEDIANS - mean) ** 2))
    wanted = float(np.sqrt(posterior @ (LOG_MEDIANS - posterior @ LOG_MEDIANS) ** 2))
    assert abs(spread - wanted) < 0.01


def test_clusters_that_wait_or_belong_to_none_say_nothing() -> None:
    told = histories(*LOOKS, waiting=(0, 0, 0, 4))
    alone, _ = group_medians(
        told, groups=np.array([-1, 0, -1, 0]), count=1, scale=SCALE, cluster_sd=SD
    )
    both, behind = group_medians(
        told, groups=np.array([1, 0, 1, 0]), count=2, scale=SCALE, cluster_sd=SD
    )
    assert behind.tolist() == [1, 2]
    np.testing.assert_allclose(alone[0], both[0])


def test_a_group_without_clusters_is_the_prior() -> None:
    masses, behind = group_medians(
        histories(*LOOKS, waiting=(0, 0, 0, 4)),
        groups=np.full(4, -1),
        count=1,
        scale=SCALE,
        cluster_sd=SD,
    )
    assert behind.tolist() == [0]
    assert abs(float(masses[0] @ LOG_MEDIANS) - np.log(START_MEDIAN)) < 0.05
