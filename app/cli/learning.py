"""Learning from the batches for a command: done if it can be, told if it cannot."""

from sqlalchemy.exc import OperationalError

from app.cli.context import Context
from app.clock import local_date
from app.services.fits import learn
from app.services.order_outlooks import watch_orders
from app.store.fair_lock import TooBusy
from app.store.queries.nursery import get_nursery
from app.store.session import Database


def learn_or_remark(context: Context, *, database: Database) -> None:
    """Learn anew if the batches changed; on a full disk or a busy log what was learned stays."""
    try:
        learn(database, now=context.clock.now())
    except OperationalError as error:
        context.remark(f"What the batches teach is as it was last worked out: {error.orig}.")
    except TooBusy as error:
        context.remark(f"What the batches teach is as it was last worked out: {error}")


def watch_or_remark(context: Context, *, database: Database) -> None:
    """Work out how the open orders stand; on a full disk or a busy log that stays as it was."""
    try:
        with database.reading() as session:
            zone = get_nursery(session).zone
        watch_orders(database, today=local_date(context.clock.now(), zone=zone))
    except OperationalError as error:
        context.remark(f"How the orders stand is as it was last worked out: {error.orig}.")
    except TooBusy as error:
        context.remark(f"How the orders stand is as it was last worked out: {error}")
