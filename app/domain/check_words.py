"""What a check found, in a sentence."""

from app.domain.outcomes import CheckCounts, CheckKind, Ending, Standing, cuttings


def found_words(counts: CheckCounts) -> str:
    """Return what a check found, such as "22 newly rooted, 3 lost (basal rot 3), rest dumped"."""
    if counts.kind is CheckKind.LOOKED_ONLY:
        return "looked only"
    if counts.kind is CheckKind.SAMPLE:
        return f"a sample: {counts.rooted:,} rooted of {counts.looked or 0:,} looked at"
    said = [f"{counts.rooted:,} newly rooted"]
    if counts.lost:
        causes = ", ".join(f"{loss.cause} {loss.number:,}" for loss in counts.lost)
        said.append(f"{counts.lost_in_all:,} lost ({causes})")
    if counts.callused:
        said.append(f"{counts.callused:,} callused")
    if counts.ending is Ending.DUMPED:
        said.append("the rest dumped")
    if counts.ending is Ending.CLEARED_UNROOTED:
        said.append("the rest cleared unrooted")
    return ", ".join(said)


def left_words(standing: Standing) -> str:
    """Return what is left of a batch in a sentence."""
    if standing.unrooted:
        return f"{cuttings(standing.unrooted)} left unrooted."
    return f"The batch is cleared: {standing.rooted:,} of {standing.stuck:,} rooted."
