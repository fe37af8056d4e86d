"""What may not be done with what is on hold, and that stock plants on hold say so."""

from collections.abc import Iterator

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.holds import held_refusal, held_words
from app.domain.lines import Member, MemberKind
from app.domain.problems import NotAccepted
from app.domain.stock_plants import StockPlantEntry, StockPlantState
from app.store.models.holds import HoldItem
from app.store.models.stock_plants import StockPlant
from app.store.queries.dispatches import batches_of_lot
from app.store.queries.holds import list_holds_of
from app.store.queries.line_members import member_codes

_GONE = (str(StockPlantState.ON_HOLD), str(StockPlantState.DISCARDED))


def refuse_held_batch(session: Session, *, batch_id: int, doing: str, field: str) -> None:
    """Refuse something with a batch that is on hold; `doing` ends "before you ...".

    Raises:
        NotAccepted: it is on hold.
    """
    member = Member(kind=MemberKind.BATCH, id=batch_id)
    holds = list_holds_of(session, member=member)
    if holds:
        code = member_codes(session, members=[member])[member]
        because = held_words(holds[0].code, suspected=holds[0].suspected)
        raise NotAccepted.at(field, held_refusal(code, because=because, doing=doing))


def refuse_held_lot(session: Session, *, lot_id: int, doing: str, field: str) -> None:
    """Refuse something with a liner lot that holds plants of a batch on hold.

    Raises:
        NotAccepted: one of its batches is on hold.
    """
    for batch_id in sorted(batches_of_lot(session, lot_id=lot_id)):
        refuse_held_batch(session, batch_id=batch_id, doing=doing, field=field)


def refuse_other_state(session: Session, *, row: StockPlant, entry: StockPlantEntry) -> None:
    """Refuse that a stock plant which a hold holds is given another state by hand.

    Raises:
        NotAccepted: the entry says another state, or another reason.
    """
    same = (entry.state, entry.state_reason) == (row.state, row.state_reason)
    holds = () if same else held_of_stock_plant(session, stock_plant_id=row.id)
    if holds:
        sentence = f"{row.code} is held by {holds[0]}. Have that hold lifted first."
        raise NotAccepted.at("state", sentence)


def held_of_stock_plant(session: Session, *, stock_plant_id: int) -> tuple[str, ...]:
    """Return what holds a stock plant, each as its code with what is suspected."""
    member = Member(kind=MemberKind.STOCK_PLANT, id=stock_plant_id)
    return tuple(
        held_words(hold.code, suspected=hold.suspected)
        for hold in list_holds_of(session, member=member)
    )


def hold_faults(session: Session) -> Iterator[tuple[str, str]]:
    """Yield (record, sentence) for every stock plant that is held and does not say so."""
    query = (
        select(StockPlant.code, StockPlant.state)
        .join(HoldItem, HoldItem.stock_plant_id == StockPlant.id)
        .where(HoldItem.lifted_at.is_(None), StockPlant.state.not_in(_GONE))
        .distinct()
    )
    for row in session.execute(query):
        yield f"stock plant {row.code}", f"A hold holds it, but its state is {row.state}."
