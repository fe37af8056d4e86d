"""The batches behind the groups of an answer, as the estimating of rates takes them."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from app.domain.strike_rates_keys import RateKey
from app.stats.share_grids import Floats
from app.stats.trees import Ints


@dataclass(frozen=True, kw_only=True)
class RateMembers:
    """Parallel arrays, one entry per batch and group it stands in.

    `groups` are places in the answer's groups. `values` holds, for the genus and for each name
    asked by, a number that stands for the batch's value. Counts are cuttings; `failed` are lost
    or dumped, `unknown` unrooted or cleared unrooted.
    """

    batch_ids: Ints
    groups: Ints
    values: Mapping[RateKey, Ints]
    rooted: Floats
    failed: Floats
    unknown: Floats


# From the widest to the narrowest: a plant is inside its genus, a month inside what was stuck.
NESTING = (
    RateKey.GENUS,
    RateKey.PLANT,
    RateKey.CUTTING_TYPE,
    RateKey.HORMONE,
    RateKey.METHOD,
    RateKey.YEAR,
    RateKey.MONTH,
)


def leaning_order(by: tuple[RateKey, ...]) -> tuple[RateKey, ...]:
    """Return the names from the widest to the narrowest, none where one of them crosses others.

    People, benches, stock plants, mixes, containers, covers and bottom heat are not inside
    anything: a group by such a name leans on no other.
    """
    if not by or any(key not in NESTING for key in by):
        return ()
    ordered = sorted(by, key=NESTING.index)
    if RateKey.PLANT in ordered and RateKey.GENUS not in ordered:
        ordered.insert(0, RateKey.GENUS)
    return tuple(ordered)


def regrouped(members: RateMembers, *, places: Ints) -> RateMembers:
    """Return the same batches in wider groups; `places[g]` is the wider one of group g."""
    return replace(members, groups=places[members.groups])
