"""Reading containers."""

from dataclasses import dataclass

from sqlalchemy import Row, select
from sqlalchemy.orm import Session

from app.domain.containers import ContainerKind
from app.domain.problems import NotFound
from app.store.models.containers import Container


@dataclass(frozen=True, kw_only=True)
class KnownContainer:
    """A container as it stands: `plugs` per tray, `volume_ml` of one plug or pot."""

    id: int
    name: str
    kind: ContainerKind
    plugs: int | None
    volume_ml: float | None
    retired: bool
    version: int


def list_containers(session: Session, *, retired: bool = False) -> tuple[KnownContainer, ...]:
    """Return the containers in use by name, or with `retired` all of them."""
    query = select(Container.__table__).order_by(Container.name)
    if not retired:
        query = query.where(Container.retired_at.is_(None))
    return tuple(_known(row) for row in session.execute(query))


def get_container(session: Session, *, container_id: int) -> KnownContainer:
    """Return one container.

    Raises:
        NotFound: there is none with this id.
    """
    query = select(Container.__table__).where(Container.id == container_id)
    row = session.execute(query).one_or_none()
    if row is None:
        raise NotFound("This container is not in the list.")
    return _known(row)


def _known(row: Row[tuple[object, ...]]) -> KnownContainer:
    return KnownContainer(
        id=row.id,
        name=row.name,
        kind=ContainerKind(row.kind),
        plugs=row.plugs,
        volume_ml=row.volume_ml,
        retired=row.retired_at is not None,
        version=row.version,
    )
