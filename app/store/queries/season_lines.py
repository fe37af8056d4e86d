"""Reading the season's board."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.domain.orders import OrderState
from app.domain.problems import NotFound
from app.domain.season_lines import SeasonLineEntry, SeasonLineKept
from app.store.models.genera import Genus
from app.store.models.orders import OrderRow
from app.store.models.plant_names import PlantNameRow
from app.store.models.season_lines import SeasonLineRow, SeasonPlanRow


@dataclass(frozen=True, kw_only=True)
class LastPlan:
    """When the board was last planned and under which room; see the table for blanks."""

    planned_at: datetime
    trays: int | None
    labour: int | None
    per_tray: int | None
    gap_share: float
    stopped_early: bool


def find_last_plan(session: Session) -> LastPlan | None:
    """Return the last planning of the board, None before the first."""
    row = session.execute(select(SeasonPlanRow.__table__)).one_or_none()
    if row is None:
        return None
    return LastPlan(
        planned_at=row.planned_at,
        trays=row.trays,
        labour=row.labour,
        per_tray=row.per_tray,
        gap_share=row.gap_share,
        stopped_early=bool(row.stopped_early),
    )


def list_season_lines(session: Session) -> tuple[SeasonLineKept, ...]:
    """Return the lines of the board by week, then by order."""
    return _lines(session)


def get_season_line(session: Session, *, line_id: int) -> SeasonLineKept:
    """Return one line.

    Raises:
        NotFound: it is no longer on the board.
    """
    found = _lines(session, line_id=line_id)
    if not found:
        raise NotFound("This line is no longer on the board: it was removed or planned anew.")
    return found[0]


def _lines(session: Session, *, line_id: int | None = None) -> tuple[SeasonLineKept, ...]:
    query = (
        select(
            SeasonLineRow.__table__,
            OrderRow.number,
            OrderRow.state,
            func.coalesce(PlantNameRow.plain, Genus.name).label("plant"),
        )
        .join(OrderRow, OrderRow.id == SeasonLineRow.order_id)
        .outerjoin(PlantNameRow, PlantNameRow.id == OrderRow.plant_name_id)
        .outerjoin(Genus, Genus.id == OrderRow.genus_id)
        .where(SeasonLineRow.removed == 0)
        .order_by(SeasonLineRow.week_on, OrderRow.number, SeasonLineRow.id)
    )
    if line_id is not None:
        query = query.where(SeasonLineRow.id == line_id)
    return tuple(
        SeasonLineKept(
            id=row.id,
            version=row.version,
            entry=SeasonLineEntry(
                order_number=row.number, week_on=row.week_on, cuttings=row.cuttings, note=row.note
            ),
            plant=row.plant,
            fixed=bool(row.fixed),
            order_open=row.state == OrderState.OPEN,
        )
        for row in session.execute(query)
    )
