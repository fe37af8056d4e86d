"""Pages of holds: all of them, one with what it reaches, a new one, lifting."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from flask import Blueprint, Response, abort, render_template, request, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.domain.holds import (
    ALWAYS,
    AUTHORITY,
    RECORDED_ONLY,
    WAY_HINTS,
    HoldWay,
    Touched,
    placed_words,
)
from app.domain.lines import Member, MemberKind
from app.domain.permissions import Permission
from app.domain.problems import NotAccepted
from app.services.holds import hold_more, lift_hold, lift_item, place_hold, undo_hold
from app.store.queries.dispatches import Whereabouts, get_whereabouts
from app.store.queries.history import list_history
from app.store.queries.hold_finds import list_touched
from app.store.queries.holds import HeldItem, KnownHold, get_hold, list_held_items, list_holds
from app.store.queries.line_members import LineMember, get_line_members
from app.store.queries.lines import get_member
from app.web.forms.holds import HoldForm, LiftForm
from app.web.permissions import allow
from app.web.requests import actor, db, now, nursery, press, reading, status_of, submit, today
from app.web.results import Saved

blueprint = Blueprint("holds", __name__, url_prefix="/holds")


@dataclass(frozen=True, kw_only=True)
class ShownThing:
    """A stock plant or batch that a suspicion reaches; `item` is what holds it, if anything."""

    known: LineMember
    href: str
    item: HeldItem | None = None


@dataclass(frozen=True, kw_only=True)
class ShownWay:
    """What is reached by one way: what is still here, and how much is gone."""

    way: HoldWay
    hint: str
    here: tuple[ShownThing, ...]
    gone: tuple[ShownThing, ...]

    @property
    def things(self) -> tuple[ShownThing, ...]:
        """What is here, then what is gone."""
        return (*self.here, *self.gone)


@blueprint.route("")
@allow(Permission.READ)
def show_all() -> ResponseReturnValue:
    """List the holds that stand, or those that were lifted."""
    lifted = request.args.get("lifted") == "yes"
    return render_template(
        "holds/list.html", holds=list_holds(db(), lifted=lifted), lifted=lifted, today=today()
    )


@blueprint.route("/new", methods=["GET", "POST"])
@allow(Permission.CHECK)
def create() -> ResponseReturnValue:
    """Show what a suspicion reaches, and place a hold on it."""
    with reading() as session:
        suspect = get_member(session, code=request.args.get("code", ""))
        known = get_line_members(session, members=[suspect], on=today())[suspect]
    form = HoldForm(data={"since_on": request.args.get("since_on", "")})
    since_on, problem = _since(form)
    with reading() as session:
        touched = list_touched(session, suspect=suspect, since_on=since_on)
        ways = _ways(session, touched)
        whereabouts = _whereabouts(session, ways)

    def place(session: Session) -> Saved:
        entry = form.entry(suspect=suspect, today=today())
        chosen = {HoldWay.ITSELF, *entry.ways}
        held = _here(ways, chosen)
        placed = place_hold(
            session, actor=actor(), today=today(), now=now(), entry=entry, touched=held
        )
        number = "1 is" if len(held) == 1 else f"{len(held):,} are"
        return Saved(
            location=url_for("holds.show", code=placed.code),
            message=f"{placed.code} is placed: {number} on hold.",
            undo=url_for("holds.undo", code=placed.code),
        )

    answer = submit(form, place)
    if problem and not form.since_on.errors:
        form.refuse(problem, field="since_on")
    return answer or (
        render_template(
            "holds/new.html",
            form=form,
            known=known,
            href=_href(known),
            ways=ways,
            whereabouts=whereabouts,
            always={way.value for way in ALWAYS},
            authority=AUTHORITY,
            recorded_only=RECORDED_ONLY,
            today=today(),
        ),
        status_of(form),
    )


@blueprint.route("/<code>")
@allow(Permission.READ)
def show(code: str) -> ResponseReturnValue:
    """Show a hold: what it holds, what it let go, and what has been found since."""
    known = get_hold(db(), code=code)
    ways = _ways_of(db(), known)
    return render_template(
        "holds/show.html",
        known=known,
        suspect_href=_address(known.suspect.kind, known.suspect_code),
        placed=placed_words(known.placed_on, by=known.placed_by),
        ways=ways,
        whereabouts=_whereabouts(db(), ways),
        new=_unheld(ways),
        authority=AUTHORITY,
        recorded_only=RECORDED_ONLY,
        history=list_history(db(), subject=f"hold {known.code}", zone=nursery().zone),
        today=today(),
    )


@blueprint.route("/<code>/more", methods=["POST"])
@allow(Permission.CHECK)
def more(code: str) -> Response:
    """Hold what has been found since as well."""
    with reading() as session:
        known = get_hold(session, code=code)
        touched = _unheld(_ways_of(session, known))

    def save(session: Session) -> Saved:
        number = hold_more(session, actor=actor(), now=now(), hold_id=known.id, touched=touched)
        return Saved(
            location=url_for("holds.show", code=known.code),
            message=f"{number:,} more {'is' if number == 1 else 'are'} held by {known.code}.",
        )

    return press(save)


@blueprint.route("/<code>/lift", methods=["GET", "POST"])
@allow(Permission.KEEP_REGISTERS)
def lift(code: str) -> ResponseReturnValue:
    """Lift a hold from all it holds, with a reason."""
    known = get_hold(db(), code=code)
    form = LiftForm()
    answer = submit(form, lambda session: _lift(session, known, form.reason.data or ""))
    return answer or (
        render_template("holds/lift.html", form=form, known=known, thing=None),
        status_of(form),
    )


@blueprint.route("/<code>/lift/<int:item_id>", methods=["GET", "POST"])
@allow(Permission.KEEP_REGISTERS)
def lift_one(code: str, item_id: int) -> ResponseReturnValue:
    """Lift a hold from one thing, with a reason; the rest stays held."""
    known = get_hold(db(), code=code)
    items = {item.id: item for item in list_held_items(db(), hold_id=known.id)}
    if item_id not in items:
        abort(404)
    member = items[item_id].member
    thing = get_line_members(db(), members=[member], on=today())[member]
    form = LiftForm()

    def save(session: Session) -> Saved:
        reason = form.reason.data or ""
        lift_item(session, actor=actor(), now=now(), item_id=item_id, reason=reason)
        return Saved(
            location=url_for("holds.show", code=known.code),
            message=f"{thing.code} is free of {known.code}.",
        )

    answer = submit(form, save)
    return answer or (
        render_template("holds/lift.html", form=form, known=known, thing=thing),
        status_of(form),
    )


@blueprint.route("/<code>/undo", methods=["POST"])
@allow(Permission.CHECK)
def undo(code: str) -> Response:
    """Take back a hold that was placed just now, by whoever placed it."""
    known = get_hold(db(), code=code)

    def save(session: Session) -> Saved:
        undo_hold(session, actor=actor(), today=today(), now=now(), hold_id=known.id)
        return _lifted(known)

    return press(save)


def _lift(session: Session, known: KnownHold, reason: str) -> Saved:
    lift_hold(session, actor=actor(), now=now(), hold_id=known.id, reason=reason)
    return _lifted(known)


def _lifted(known: KnownHold) -> Saved:
    return Saved(
        location=url_for("holds.show", code=known.code),
        message=f"{known.code} is lifted; it stays readable.",
    )


def _since(form: HoldForm) -> tuple[date | None, str]:
    """Return the day typed, and why it could not be read."""
    try:
        return form.since(today=today()), ""
    except NotAccepted as refusal:
        return None, refusal.problems[0].sentence


def _ways_of(session: Session, known: KnownHold) -> tuple[ShownWay, ...]:
    """Return what a hold reaches now by the ways it was placed for, with what it holds of it."""
    touched = list_touched(session, suspect=known.suspect, since_on=known.since_on, ways=known.ways)
    items = list_held_items(session, hold_id=known.id)
    found = {each.member for each in touched}
    # What a later correction took out of the line is held all the same, until it is lifted.
    apart = [
        Touched(member=item.member, way=item.way) for item in items if item.member not in found
    ]
    return _ways(session, [*touched, *dict.fromkeys(apart)], items=items)


def _ways(
    session: Session, touched: Iterable[Touched], *, items: Iterable[HeldItem] = ()
) -> tuple[ShownWay, ...]:
    by_way: dict[HoldWay, list[Member]] = {}
    for each in touched:
        by_way.setdefault(each.way, []).append(each.member)
    members = [member for found in by_way.values() for member in found]
    known = get_line_members(session, members=members, on=today())
    # The last item of a thing says how it stands: it may have been freed and held again.
    held = {item.member: item for item in items}
    return tuple(
        ShownWay(
            way=way,
            hint=WAY_HINTS[way],
            here=tuple(_things(by_way.get(way, ()), known, held, here=True)),
            gone=tuple(_things(by_way.get(way, ()), known, held, here=False)),
        )
        for way in HoldWay
    )


def _things(
    members: Iterable[Member],
    known: Mapping[Member, LineMember],
    held: Mapping[Member, HeldItem],
    *,
    here: bool,
) -> Iterator[ShownThing]:
    for member in members:
        one = known[member]
        if one.is_here is here:
            yield ShownThing(known=one, href=_href(one), item=held.get(member))


def _here(ways: Iterable[ShownWay], chosen: set[HoldWay]) -> tuple[Touched, ...]:
    return tuple(
        Touched(member=thing.known.member, way=shown.way)
        for shown in ways
        if shown.way in chosen
        for thing in shown.here
    )


def _unheld(ways: Iterable[ShownWay]) -> tuple[Touched, ...]:
    """Return what is here and was never held by the hold: it came in after it was placed."""
    return tuple(
        Touched(member=thing.known.member, way=shown.way)
        for shown in ways
        for thing in shown.here
        if thing.item is None
    )


def _whereabouts(session: Session, ways: Iterable[ShownWay]) -> Whereabouts:
    """Return where the potted-up plants of everything reached are, here and sent out."""
    batches = {
        thing.known.member.id
        for shown in ways
        for thing in shown.things
        if thing.known.member.kind is MemberKind.BATCH
    }
    return get_whereabouts(session, batch_ids=batches)


def _href(known: LineMember) -> str:
    return _address(known.member.kind, known.code)


def _address(kind: MemberKind, code: str) -> str:
    page = "batches.show" if kind is MemberKind.BATCH else "stock_plants.show"
    return url_for(page, code=code)
