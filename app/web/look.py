"""What every template is given beside its own values: filters, picture geometry, form errors,
and addresses of static files that change with their content.
"""

import hashlib
from collections.abc import Mapping
from datetime import date
from functools import partial
from pathlib import Path
from typing import Any, Final

from flask import Flask
from wtforms import Field

from app.clock import local_date
from app.domain.cutting_types import is_cutting
from app.domain.days import MONTHS, day_long, day_short, distance, lateness
from app.domain.plant_names import kept_plant_name
from app.domain.way_words import kind_words, told_for
from app.web.error_lines import error_lines, is_choice
from app.web.pictures import outcome_pieces, rate_places
from app.web.requests import nursery

ONE_YEAR: Final = 365 * 24 * 3600
_MARK_LENGTH: Final = 12


def fit_look(app: Flask) -> None:
    """Give the app's templates their filters and functions and its static files versioned URLs."""
    app.jinja_env.filters.update(
        day_words=_day_words,
        day_distance=lambda day, today: distance(day, today=today),
        due_distance=lambda day, today, late=True: lateness(day, today=today, late=late),
        month_name=lambda month: MONTHS[month - 1],
        local_day=lambda instant: local_date(instant, zone=nursery().zone),
        name_pieces=lambda plain: kept_plant_name(plain).pieces,
        percent=percent,
        litres=litres,
        is_cutting=is_cutting,
        told_for=lambda sentence, kind: told_for(sentence, cutting_type=kind),
        kind_words=lambda number, kind: kind_words(number, cutting_type=kind),
    )
    app.jinja_env.globals.update(
        error_lines=error_lines,
        is_choice=is_choice,
        input_attributes=input_attributes,
        outcome_pieces=outcome_pieces,
        rate_places=rate_places,
    )
    app.config["SEND_FILE_MAX_AGE_DEFAULT"] = ONE_YEAR
    folder = Path(app.static_folder or "")
    app.url_defaults(partial(_mark_static, marks=_content_marks(folder)))


def input_attributes(field: Field, *, hint: str, extra: Mapping[str, Any]) -> dict[str, Any]:
    """Return the attributes of a field's input: what was asked for, its hint and its errors."""
    described = []
    if hint:
        described.append(f"{field.id}-hint")
    if field.errors:
        described.append(f"{field.id}-error")
    attributes = dict(extra)
    if described:
        attributes["aria-describedby"] = " ".join(described)
    if field.errors:
        attributes["aria-invalid"] = "true"
    return attributes


def percent(share: float) -> str:
    """Return a share, 0 to 1, as "8 %" or "8.5 %"."""
    return f"{round(share * 100, 1):g} %"


def litres(volume: float) -> str:
    """Return litres to a tenth, such as "1,333.3" or "300"."""
    return f"{volume:,.1f}".removesuffix(".0")


def _day_words(day: date, today: date | None = None) -> str:
    return day_long(day) if today is None else day_short(day, today=today)


def _content_marks(folder: Path) -> dict[str, str]:
    files = (path for path in folder.rglob("*") if path.is_file())
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()[
            :_MARK_LENGTH
        ]
        for path in files
    }


def _mark_static(endpoint: str, values: dict[str, Any], *, marks: Mapping[str, str]) -> None:
    if endpoint == "static" and (mark := marks.get(values.get("filename", ""))):
        values["v"] = mark
