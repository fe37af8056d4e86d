"""Keeping lines of descent free of loops: nothing comes from what was taken from it."""

from collections.abc import Iterator

from sqlalchemy.orm import Session

from app.domain.batches import BatchEntry
from app.domain.lines import Member, MemberKind, looped_members, refuse_loop
from app.domain.problems import NotAccepted, Problem
from app.store.queries.line_members import member_codes
from app.store.queries.lines import descends, list_all_descents


def refuse_looped_stock_plant(session: Session, *, stock_plant_id: int, batch_id: int) -> None:
    """Refuse that a stock plant was raised in a batch that comes from it.

    Raises:
        NotAccepted: the batch was taken from this very stock plant, directly or not.
    """
    plant = Member(kind=MemberKind.STOCK_PLANT, id=stock_plant_id)
    _refuse(
        session, child=plant, parent=Member(kind=MemberKind.BATCH, id=batch_id), field="raised_from"
    )


def refuse_looped_batch(session: Session, *, batch_id: int, entry: BatchEntry) -> None:
    """Refuse that a stored batch comes from a stock plant, or batch, that comes from it.

    Raises:
        NotAccepted: for each such source, by its field.
    """
    batch = Member(kind=MemberKind.BATCH, id=batch_id)
    parents = {
        f"sources-{place}-stock_plant": Member(kind=MemberKind.STOCK_PLANT, id=line.stock_plant_id)
        for place, line in enumerate(entry.sources)
        if line.stock_plant_id is not None
    }
    if entry.restuck_from_id is not None:
        parents["restuck_from"] = Member(kind=MemberKind.BATCH, id=entry.restuck_from_id)
    problems: list[Problem] = []
    for field, parent in parents.items():
        try:
            _refuse(session, child=batch, parent=parent, field=field)
        except NotAccepted as refusal:
            problems += refusal.problems
    if problems:
        raise NotAccepted(tuple(problems))


def refuse_looped_source(session: Session, *, batch_id: int, stock_plant_id: int) -> None:
    """Refuse that a stored batch of a sheet comes from a stock plant that comes from it.

    Raises:
        NotAccepted: the stock plant was raised from this very batch, directly or not.
    """
    _refuse(
        session,
        child=Member(kind=MemberKind.BATCH, id=batch_id),
        parent=Member(kind=MemberKind.STOCK_PLANT, id=stock_plant_id),
        field="stock_plant",
    )


def line_faults(session: Session) -> Iterator[tuple[str, str]]:
    """Yield (record, sentence) for every stock plant and batch that comes from itself."""
    looped = looped_members(list_all_descents(session))
    for member, code in sorted(member_codes(session, members=looped).items()):
        yield f"{member.kind.value} {code}", "It comes from itself: its line is a loop."


def _refuse(session: Session, *, child: Member, parent: Member, field: str) -> None:
    if descends(session, child=parent, parent=child):
        codes = member_codes(session, members=[child, parent])
        refuse_loop(codes[child], parent=codes[parent], field=field)
