"""Calendar addresses of the person signed in, and the calendar that is read at one."""

from flask import Blueprint, Response, render_template, request, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.domain.permissions import Permission
from app.services.calendar_feeds import (
    calendar_place,
    end_feed,
    feed_token,
    make_feed,
    open_feed,
    renew_feed,
)
from app.store.queries.benches import list_benches
from app.store.queries.calendar_feeds import list_feeds, read_due_calendar
from app.web.forms.calendar_feeds import CalendarFeedForm
from app.web.label_reading import label_base
from app.web.permissions import allow, allow_anyone
from app.web.requests import actor, db, end_reading, now, press, running, status_of, submit, today
from app.web.results import Saved

blueprint = Blueprint("calendar_feeds", __name__)


@blueprint.route("/calendars", methods=["GET", "POST"])
@allow(Permission.READ)
def show_all() -> ResponseReturnValue:
    """List one's own calendar addresses, and make another."""
    form = CalendarFeedForm()
    form.offer(list_benches(db()))
    answer = submit(form, lambda session: _make(session, form))
    if answer:
        return answer
    settings = running().settings
    base = label_base(db(), settings=settings)
    feeds = [
        (feed, url_for("calendar_feeds.read", token=feed_token(feed, key=settings.secret_key)))
        for feed in list_feeds(db(), person_id=actor().person_id)
    ]
    page = render_template(
        "calendar_feeds/list.html", form=form, feeds=feeds, base=base, today=today()
    )
    return page, status_of(form)


@blueprint.route("/calendars/<int:feed_id>/renew", methods=["POST"])
@allow(Permission.READ)
def renew(feed_id: int) -> ResponseReturnValue:
    """Give a calendar a new address, so that the old one answers no more."""

    def save(session: Session) -> Saved:
        renew_feed(session, actor=actor(), now=now(), feed_id=feed_id)
        return Saved(
            location=url_for("calendar_feeds.show_all"),
            message="The calendar has a new address, and the old one answers nobody any more.",
        )

    return press(save)


@blueprint.route("/calendars/<int:feed_id>/end", methods=["POST"])
@allow(Permission.READ)
def end(feed_id: int) -> ResponseReturnValue:
    """End a calendar."""

    def save(session: Session) -> Saved:
        end_feed(session, actor=actor(), now=now(), feed_id=feed_id)
        return Saved(
            location=url_for("calendar_feeds.show_all"),
            message="The calendar has ended: its address answers nobody any more.",
        )

    return press(save)


@blueprint.route("/calendar/<token>.ics")
@allow_anyone
def read(token: str) -> ResponseReturnValue:
    """Send the due checks to whoever has the address; calendar programs cannot sign in."""
    settings = running().settings
    feed = open_feed(db(), token=token, key=settings.secret_key)
    due = read_due_calendar(db(), feed=feed, now=now())
    base = label_base(db(), settings=settings)
    end_reading()
    from app.formats.calendars import write_calendar  # noqa: PLC0415 - a start does not pay for it

    place = calendar_place(key=settings.secret_key)
    answer = Response(
        write_calendar(due, place=place, base=base.address),
        content_type="text/calendar; charset=utf-8",
    )
    answer.add_etag()
    return answer.make_conditional(request)


def _make(session: Session, form: CalendarFeedForm) -> Saved:
    scope, bench_id = form.chosen()
    make_feed(session, actor=actor(), now=now(), scope=scope, bench_id=bench_id)
    return Saved(
        location=url_for("calendar_feeds.show_all"),
        message="The calendar is made. Give its address to your calendar program.",
    )
