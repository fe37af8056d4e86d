"""Sending plants out: from liner lots, or as rooted cuttings in the trays of their batch."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import func, insert, select
from sqlalchemy.orm import Session

from app.domain.codes import dispatch_code
from app.domain.dispatches import DispatchEntry, SentLine, accepted_dispatch
from app.domain.liner_entries import StageEntry
from app.domain.liner_stages import Stage
from app.domain.people import Actor
from app.domain.problems import NotAccepted, NotFound, Problem
from app.domain.reasons import accepted_reason
from app.services.corrections import correct_row
from app.services.held_things import refuse_held_batch
from app.services.history import JsonValue, record_change
from app.services.liner_lots import pot_up, record_stage
from app.services.liner_stages import withdraw_stages
from app.store.models.dispatches import Dispatch, DispatchLine
from app.store.queries.batches import find_batch_id
from app.store.queries.dispatches import list_dispatch_lines
from app.store.queries.liner_lots import find_liner_lot_id

IN_ITS_TRAYS = "Sent out in the trays of its batch."


@dataclass(frozen=True, kw_only=True)
class SentDispatch:
    """A dispatch as the program knows it from now on."""

    id: int
    code: str


@dataclass(frozen=True, kw_only=True)
class _Sender:
    """Who sends on which day, and what the stages of one dispatch share."""

    session: Session
    actor: Actor
    today: date
    now: datetime
    sent_on: date

    def send(self, line: SentLine) -> tuple[int, tuple[int, ...]]:
        """Return the id of the stage that says a line was sent, and of all it made."""
        lot_id = find_liner_lot_id(self.session, code=line.code)
        if lot_id is not None:
            made = self._stage(Stage.SENT_OUT, lot_id=lot_id, number=line.number)
            return made[-1], made
        batch_id = find_batch_id(self.session, code=line.code)
        if batch_id is None:
            raise NotAccepted.at("lines", f"There is no liner lot and no batch {line.code}.")
        refuse_held_batch(self.session, batch_id=batch_id, doing="send plants out", field="lines")
        potted = pot_up(
            self.session,
            actor=self.actor,
            today=self.today,
            now=self.now,
            batch_id=batch_id,
            entry=self._entry(Stage.POTTED_UP, number=line.number, notes=IN_ITS_TRAYS),
        )
        lot_id = find_liner_lot_id(self.session, code=potted.lot_code) or 0
        ready = self._stage(Stage.READY, lot_id=lot_id, number=None)
        sent = self._stage(Stage.SENT_OUT, lot_id=lot_id, number=line.number)
        return sent[-1], (*potted.stage_ids, *ready, *sent)

    def _stage(self, stage: Stage, *, lot_id: int, number: int | None) -> tuple[int, ...]:
        return record_stage(
            self.session,
            actor=self.actor,
            today=self.today,
            now=self.now,
            lot_id=lot_id,
            entry=self._entry(stage, number=number),
        ).stage_ids

    def _entry(self, stage: Stage, *, number: int | None, notes: str = "") -> StageEntry:
        return StageEntry(stage=stage, on=self.sent_on, number=number, notes=notes)


def send_out(
    session: Session, *, actor: Actor, today: date, now: datetime, entry: DispatchEntry
) -> SentDispatch:
    """Write a dispatch down: its plants leave their lots on that day; return its code.

    Raises:
        NotAccepted: a rule does not hold, a code is unknown, fewer were there, or what is sent is
            on hold.
    """
    entry = accepted_dispatch(entry, today=today)
    number = (session.scalar(select(func.max(Dispatch.number))) or 0) + 1
    row = Dispatch(
        number=number,
        sent_on=entry.sent_on,
        to_name=entry.to_name,
        reference=entry.reference,
        notes=entry.notes,
        made_at=now,
        recorded_by_id=actor.person_id,
    )
    session.add(row)
    session.flush()
    sender = _Sender(session=session, actor=actor, today=today, now=now, sent_on=entry.sent_on)
    lines = []
    for position, line in enumerate(entry.lines, start=1):
        stage_id, made = _sent(sender, line)
        lines.append(
            {
                "dispatch_id": row.id,
                "position": position,
                "liner_stage_id": stage_id,
                "made": list(made),
            }
        )
    session.execute(insert(DispatchLine), lines)
    code = dispatch_code(number)
    _write(session, actor=actor, now=now, what="plants sent out", code=code, change={})
    return SentDispatch(id=row.id, code=code)


def correct_dispatch(
    session: Session,
    *,
    actor: Actor,
    now: datetime,
    dispatch_id: int,
    version: int,
    to_name: str,
    reference: str,
    notes: str,
) -> None:
    """Put right to whom plants were sent, the reference and the notes.

    Names of people outside stay out of the history: it only says that the name was changed.

    Raises:
        NotAccepted: nobody is named, or a text is too long.
        ChangedMeanwhile: somebody else saved it after `version` was read.
        NotFound: there is no such dispatch.
    """
    row = _row(session, dispatch_id)
    some = (SentLine(code="as sent", number=1),)
    tidy = accepted_dispatch(
        DispatchEntry(
            sent_on=row.sent_on, to_name=to_name, reference=reference, lines=some, notes=notes
        ),
        today=row.sent_on,
    )
    after = {"to_name": tidy.to_name, "reference": tidy.reference, "notes": tidy.notes}
    changes = correct_row(row, version=version, after=after)
    if not changes:
        return
    session.flush()
    if "to_name" in changes:
        changes["to_name"] = ["a name", "another name"]
    code = dispatch_code(row.number)
    _write(session, actor=actor, now=now, what="dispatch corrected", code=code, change=changes)


def withdraw_dispatch(
    session: Session,
    *,
    actor: Actor,
    today: date,
    now: datetime,
    dispatch_id: int,
    reason: str,
) -> None:
    """Take a dispatch back that was entered by mistake: its plants are in their lots again.

    Raises:
        NotAccepted: no reason, it is withdrawn already, or later stages lean on it.
        NotAllowed: it is somebody else's entry, or an own one of long ago.
        NotFound: there is no such dispatch.
    """
    row = _row(session, dispatch_id)
    code = dispatch_code(row.number)
    tidy = accepted_reason(reason, missing="Say why it is withdrawn, for whoever reads it.")
    if row.withdrawn:
        raise NotAccepted.at("reason", f"{code} is withdrawn already.")
    stage_ids = [
        stage_id
        for line in list_dispatch_lines(session, dispatch_id=row.id)
        for stage_id in line.stage_ids
    ]
    row.withdrawn, row.withdrawn_at = 1, now
    row.withdrawn_by_id, row.withdraw_reason = actor.person_id, tidy
    session.flush()
    withdraw_stages(session, actor=actor, today=today, now=now, stage_ids=stage_ids, reason=tidy)
    change: dict[str, JsonValue] = {"withdrawn": [False, True], "reason": [None, tidy]}
    _write(session, actor=actor, now=now, what="dispatch withdrawn", code=code, change=change)


def _sent(sender: _Sender, line: SentLine) -> tuple[int, tuple[int, ...]]:
    """Send one line; whatever is wrong with it is said at the lines, with its code."""
    try:
        return sender.send(line)
    except NotAccepted as refusal:
        problems = tuple(
            Problem(field="lines", sentence=f"{line.code}: {problem.sentence}")
            for problem in refusal.problems
        )
        raise NotAccepted(problems) from refusal


def _row(session: Session, dispatch_id: int) -> Dispatch:
    row = session.get(Dispatch, dispatch_id)
    if row is None:
        raise NotFound("There is no such dispatch.")
    return row


def _write(
    session: Session,
    *,
    actor: Actor,
    now: datetime,
    what: str,
    code: str,
    change: dict[str, JsonValue],
) -> None:
    subject = f"dispatch {code}"
    record_change(session, actor=actor, now=now, what=what, subject=subject, change=change)
