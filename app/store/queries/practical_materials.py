"""Reading what each one of a practical session sticks, to be worked out for so many."""

from sqlalchemy.orm import Session

from app.domain.preparing_sheets import BatchToStick, ContainerMeasure, MixRecipe
from app.store.queries.benches import list_loaded_benches
from app.store.queries.containers import get_container
from app.store.queries.mixes import get_mix
from app.store.queries.practicals import KnownPractical


def find_batch_of_each(session: Session, *, practical: KnownPractical) -> BatchToStick | None:
    """Return what each one sticks, None where no cuttings are planned."""
    entry = practical.entry
    if entry.per_head is None:
        return None
    return BatchToStick(
        plant=practical.plant,
        cuttings=entry.per_head,
        per_place=entry.per_place or 1,
        container=_container(session, entry.container_id),
        mix=_mix(session, entry.mix_id),
        hormone=entry.hormone,
        bench=practical.bench,
    )


def room_on_bench(session: Session, *, practical: KnownPractical) -> dict[str, int | None]:
    """Return for how many trays the bench of a session has room now, by its name."""
    return {
        each.bench.name: None
        if each.bench.capacity_trays is None
        else each.bench.capacity_trays - each.trays
        for each in list_loaded_benches(session)
        if each.bench.name == practical.bench
    }


def _container(session: Session, container_id: int | None) -> ContainerMeasure | None:
    if container_id is None:
        return None
    each = get_container(session, container_id=container_id)
    return ContainerMeasure(
        name=each.name, kind=each.kind, plugs=each.plugs, volume_ml=each.volume_ml
    )


def _mix(session: Session, mix_id: int | None) -> MixRecipe | None:
    if mix_id is None:
        return None
    each = get_mix(session, mix_id=mix_id)
    return MixRecipe(
        name=each.name,
        parts=each.newest.parts,
        shrinkage_share=each.newest.shrinkage_share,
    )
