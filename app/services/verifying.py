"""Looking a log over: every derived figure worked out again, and the history's seals.

Nothing is changed. What differs was changed by something else than this program, by a fault of
the disk, or by a fault of ours.
"""

from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass, fields

from sqlalchemy.orm import Session

from app.domain.codes import batch_code, mix_lot_code, stock_plant_code
from app.domain.hormones import Hormone
from app.domain.outcomes import DoesNotAddUp
from app.services.batch_facts import Books, Facts, facts_of, plans_of, read_basics, read_books
from app.services.held_things import hold_faults
from app.services.history import FIRST_HASH, seal
from app.services.lines import line_faults
from app.services.verifying_places import place_faults
from app.services.verifying_stock_plants import stock_plant_faults
from app.store.queries.checks import counts_by_batch
from app.store.queries.order_progress import fresh_counts_by_order, list_ordered_batches
from app.store.queries.orders import list_orders
from app.store.queries.restuck import restuck_by_batch
from app.store.queries.verifying import (
    BatchHead,
    RepeatedValue,
    StoredLine,
    ended_by_batch,
    facts_by_batch,
    get_history_end,
    iterate_batches,
    iterate_history,
    list_broken_references,
    list_codes,
    list_facts_without_batch,
    list_hormones,
    list_odd_restuck,
    list_unlike_losses,
    list_unlike_versions,
)


@dataclass(frozen=True, kw_only=True)
class Finding:
    """One thing that does not agree: the record, and what it says against what it should."""

    record: str
    sentence: str


def verify_log(session: Session) -> Iterator[Finding]:
    """Yield everything in the log that does not agree with what it was derived from."""
    for table in list_broken_references(session):
        yield Finding(record=table, sentence="A row points to a record that does not exist.")
    yield from _unlike_checks(list_unlike_versions(session), "its newest version")
    yield from _unlike_checks(list_unlike_losses(session), "its losses by cause")
    yield from _unlike_facts(session)
    yield from _unlike_labels(session)
    for record, sentence in (
        *place_faults(session),
        *stock_plant_faults(session),
        *line_faults(session),
        *hold_faults(session),
    ):
        yield Finding(record=record, sentence=sentence)
    yield from _unlike_orders(session)
    yield from _odd_restuck(session)
    yield from broken_seals(iterate_history(session), end=get_history_end(session))


def broken_seals(lines: Iterator[StoredLine], *, end: tuple[int, str]) -> Iterator[Finding]:
    """Yield each place where the history's chain is broken.

    `end` is the number of lines and the newest hash as kept outside the history.
    """
    sequence, previous = 0, FIRST_HASH
    for line in lines:
        sequence += 1
        record = f"history line {line.sequence}"
        if line.sequence != sequence:
            yield Finding(record=record, sentence=f"Line {sequence} should stand here.")
            sequence = line.sequence
        if line.previous_hash != previous:
            yield Finding(record=record, sentence="It does not follow from the line before it.")
        content = {name: value for name, value in asdict(line).items() if name != "hash"}
        if seal(**content) != line.hash:
            yield Finding(record=record, sentence="It is not what was sealed.")
        previous = line.hash
    length, newest = end
    if sequence != length:
        yield Finding(record="history", sentence=f"It has {sequence} lines, {length} were written.")
    elif newest != ("" if length == 0 else previous):
        yield Finding(record="history", sentence="Its last line is not the one that was written.")


def _unlike_checks(found: Sequence[RepeatedValue], of_what: str) -> Iterator[Finding]:
    for value in found:
        yield Finding(
            record=f"batch {value.batch_code}, check of {value.checked_on}",
            sentence=_unlike(value.field, value.stored, value.expected, of_what),
        )


def _unlike_facts(session: Session) -> Iterator[Finding]:
    books = read_books(session)
    for heads in iterate_batches(session):
        stored = facts_by_batch(session, batch_ids=[head.id for head in heads])
        ended = ended_by_batch(session, batch_ids=[head.id for head in heads])
        restuck = restuck_by_batch(session, batch_ids=[head.id for head in heads])
        worked_out = _work_out(session, heads, books=books)
        for head in heads:
            facts = worked_out[head.id]
            if isinstance(facts, str):
                yield Finding(record=f"batch {head.code}", sentence=facts)
                continue
            moved = sum(check.restuck for check in restuck.get(head.id, ()))
            yield from _unlike_batch(head, facts, ended=ended.get(head.id, 0), restuck=moved)
            for field in fields(facts):
                value = stored.get(head.id, {}).get(field.name)
                expected = getattr(facts, field.name)
                if value != expected or head.id not in stored:
                    sentence = _unlike(field.name, value, expected, "its checks and plan")
                    yield Finding(record=f"batch {head.code}", sentence=sentence)
    for batch_id in list_facts_without_batch(session):
        yield Finding(record=f"facts {batch_id}", sentence="There is no batch of this id.")


def _work_out(
    session: Session, heads: Sequence[BatchHead], *, books: Books
) -> dict[int, Facts | str]:
    """Return the facts of each batch, or why they cannot be worked out."""
    ids = [head.id for head in heads]
    counts = counts_by_batch(session, batch_ids=ids)
    found: dict[int, Facts | str] = dict.fromkeys(ids, "Its plant name does not exist.")
    for basics in read_basics(session, batch_ids=ids):
        checks = counts.get(basics.batch_id, ())
        try:
            plans = plans_of(books.plans, basics=basics)
            found[basics.batch_id] = facts_of(basics, checks=checks, plans=plans, fit=books.fit)
        except DoesNotAddUp as refusal:
            found[basics.batch_id] = f"Its checks do not add up. {refusal}"
    return found


def _unlike_batch(head: BatchHead, facts: Facts, *, ended: int, restuck: int) -> Iterator[Finding]:
    went = facts.dumped + facts.cleared_unrooted - restuck
    kind = "dumped" if facts.dumped else "cleared unrooted" if went else None
    pairs = [
        ("code", head.code, batch_code(year=head.year, number=head.number)),
        ("year", head.year, facts.stuck_on.year),
        ("ended", ended, went),
    ]
    if kind is not None:
        pairs.append(("ending", head.ending_kind, kind))
    for name, stored, expected in pairs:
        if stored != expected:
            sentence = _unlike(name, stored, expected, "its checks and day")
            yield Finding(record=f"batch {head.code}", sentence=sentence)


def _unlike_labels(session: Session) -> Iterator[Finding]:
    makers = {"stock plant": stock_plant_code, "mix lot": mix_lot_code}
    for kind, number, code in list_codes(session):
        expected = makers[kind](number)
        if code != expected:
            sentence = _unlike("code", code, expected, "its number")
            yield Finding(record=f"{kind} {code}", sentence=sentence)
    for substance, form, ppm, label in list_hormones(session):
        known = Hormone(substance=substance, form=form, ppm=None if ppm < 0 else ppm)
        if label != known.label:
            sentence = _unlike("label", label, known.label, "its substance, form and strength")
            yield Finding(record=f"hormone {label}", sentence=sentence)


def _unlike_orders(session: Session) -> Iterator[Finding]:
    """Yield orders whose kept counts are not their batches' sums, and batches that do not fit."""
    orders = list_orders(session)
    kept = fresh_counts_by_order(session)
    for order in orders:
        lines = list_ordered_batches(session, order_id=order.id)
        counted = {
            "batches": len(lines),
            "stuck": sum(line.standing.stuck for line in lines),
            "rooted": sum(line.standing.rooted for line in lines),
            "unrooted": sum(line.standing.unrooted for line in lines),
        }
        for field, stored in kept.get(order.id, counted).items():
            if stored != counted[field]:
                sentence = _unlike(field, stored, counted[field], "its batches")
                yield Finding(record=order.name, sentence=sentence)
        for line in lines:
            if not order.takes(plant_name_id=line.plant_name_id, genus_id=line.genus_id):
                sentence = (
                    f"{line.code} counts to it, but is {line.plant}; {order.plant} is wanted."
                )
                yield Finding(record=order.name, sentence=sentence)


def _odd_restuck(session: Session) -> Iterator[Finding]:
    for named in list_odd_restuck(session):
        said = f"A check of {named.checked_of} says" if named.checked_of else "It says"
        sentence = f"{said} that it was re-stuck from {named.parent_code}, {named.reason}."
        yield Finding(record=f"batch {named.code}", sentence=sentence)


def _unlike(field: str, stored: object, expected: object, of_what: str) -> str:
    told = ["nothing" if value in {None, ""} else str(value) for value in (stored, expected)]
    return f"{field} is {told[0]}; {of_what} give {told[1]}."
