"""Learning from the batches for a command: done if it can be, told if it cannot."""

from sqlalchemy.exc import OperationalError

from app.cli.context import Context
from app.services.fits import learn
from app.store.fair_lock import TooBusy
from app.store.session import Database


def learn_or_remark(context: Context, *, database: Database) -> None:
    """Learn anew if the batches changed; on a full disk or a busy log what was learned stays."""
    try:
        learn(database, now=context.clock.now())
    except OperationalError as error:
        context.remark(f"What the batches teach is as it was last worked out: {error.orig}.")
    except TooBusy as error:
        context.remark(f"What the batches teach is as it was last worked out: {error}")
