"""Finding what a form of a batch refers to by a code or a name."""

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.store.models.containers import Container
from app.store.models.genera import Genus
from app.store.models.method_cards import MethodCardVersion
from app.store.models.mixes import MixLot, MixVersion
from app.store.models.plant_names import PlantNameRow


def find_mix_lot_id(session: Session, *, number: int) -> int | None:
    """Return the id of the mix lot of this number, None if there is none."""
    return session.scalar(select(MixLot.id).where(MixLot.number == number))


def find_card_version_id(session: Session, *, typed: str) -> int | None:
    """Return the id of the method card's version sent with a form, None if it is none."""
    if not (typed.isascii() and typed.isdecimal() and len(typed) < len("1000000000")):
        return None
    return session.scalar(select(MethodCardVersion.id).where(MethodCardVersion.id == int(typed)))


def plugs_of(session: Session, *, container_id: int | None) -> int | None:
    """Return the plugs of a container, None where it has none or nobody said."""
    if container_id is None:
        return None
    return session.scalar(select(Container.plugs).where(Container.id == container_id))


def list_genus_names(session: Session, *, genus: str) -> tuple[str, ...]:
    """Return the plant names of a genus in one line each, by alphabet."""
    query = (
        select(PlantNameRow.plain)
        .join(Genus, Genus.id == PlantNameRow.genus_id)
        .where(Genus.name == genus)
        .order_by(PlantNameRow.plain)
    )
    return tuple(session.scalars(query))


def newest_mix_version_id(session: Session, *, mix_version_id: int) -> int:
    """Return the id of the version that holds now of the mix that a version belongs to."""
    mix_id = select(MixVersion.mix_id).where(MixVersion.id == mix_version_id).scalar_subquery()
    query = (
        select(MixVersion.id)
        .where(MixVersion.mix_id == mix_id)
        .order_by(MixVersion.number.desc())
        .limit(1)
    )
    return session.scalars(query).one()
