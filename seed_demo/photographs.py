"""Photographs of the invented nursery, drawn from nothing, and a round sheet that waits."""

import io
from datetime import date
from random import Random
from typing import Final

from PIL import Image, ImageDraw, ImageFilter
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.domain.photographs import PhotographEntry
from app.formats.pictures import draw_photograph
from app.services.photographs import add_photograph, keep_photograph_files
from app.services.round_sheets import print_round_sheet
from app.store.models.checks import Check
from app.store.models.stock_plants import StockPlant
from app.store.queries.today import list_round
from app.store.session import Database
from seed_demo.desk import Desk, instant
from seed_demo.places import HEAD

_SIZE: Final = (1200, 900)
_ACROSS: Final = 8
_DOWN: Final = 6
_PEAT: Final = (58, 44, 34)
_TRAY: Final = (28, 30, 32)
_GREENS: Final = ((92, 132, 62), (112, 150, 78), (74, 116, 60))
_YELLOWING: Final = (186, 172, 84)
_CAPTIONS: Final = ("A few yellowing at the edge", "Even, well away", "")


def tell_photographs(database: Database, desk: Desk) -> None:
    """Add photographs of the last counts and of a stock plant, and make a sheet for today."""
    with database.writing() as session:
        rows = session.execute(
            select(Check.id, Check.checked_on)
            .where(Check.rooted > 0, Check.withdrawn == 0)
            .order_by(Check.checked_on.desc(), Check.id.desc())
            .limit(len(_CAPTIONS))
        ).all()
        for place, (row, caption) in enumerate(zip(rows, _CAPTIONS, strict=False)):
            of_check = {"check_id": row.id, "caption": caption}
            _add(session, database, desk, place=place, day=row.checked_on, **of_check)
        plant = session.scalars(select(StockPlant.id).order_by(StockPlant.id).limit(1)).one()
        _add(session, database, desk, place=9, day=desk.today, stock_plant_id=plant)
        if list_round(session, on=desk.today):
            now = instant(desk.today, 7, 30)
            print_round_sheet(session, actor=desk.actors[HEAD.name], today=desk.today, now=now)


def _add(
    session: Session, database: Database, desk: Desk, *, place: int, day: date, **of: object
) -> None:
    actor = desk.actors[HEAD.name]
    drawn = draw_photograph(_tray_of_cuttings(Random(f"{desk.seed}/photograph {place}")))
    entry = PhotographEntry(taken_on=day, taken_by_id=actor.person_id, **of)  # type: ignore[arg-type]
    add_photograph(
        session,
        actor=actor,
        today=desk.today,
        now=instant(desk.today, 7, place),
        entry=entry,
        files=keep_photograph_files(database.path.parent / "photographs", drawn=drawn),
    )


def _tray_of_cuttings(dice: Random) -> io.BytesIO:
    """Return a drawing of a plug tray from above as JPEG: a cutting in most cells."""
    picture = Image.new("RGB", _SIZE, _TRAY)
    pen = ImageDraw.Draw(picture)
    step = (_SIZE[0] // _ACROSS, _SIZE[1] // _DOWN)
    for cell in range(_ACROSS * _DOWN):
        x = cell % _ACROSS * step[0] + step[0] // 2
        y = cell // _ACROSS * step[1] + step[1] // 2
        pen.ellipse((x - 58, y - 58, x + 58, y + 58), fill=_PEAT)
        if dice.random() < 0.93:
            _draw_cutting(pen, x, y, dice)
    buffer = io.BytesIO()
    picture.filter(ImageFilter.GaussianBlur(1.2)).save(buffer, "JPEG", quality=90)
    return buffer


def _draw_cutting(pen: ImageDraw.ImageDraw, x: int, y: int, dice: Random) -> None:
    green = _YELLOWING if dice.random() < 0.06 else dice.choice(_GREENS)
    for _ in range(dice.randint(5, 7)):
        across, down = dice.randint(-42, 42), dice.randint(-42, 42)
        wide = dice.randint(14, 22)
        pen.line((x, y, x + across, y + down), fill=green, width=5)
        centre = (x + across, y + down)
        pen.ellipse(
            (centre[0] - wide, centre[1] - wide // 2, centre[0] + wide, centre[1] + wide // 2),
            fill=green,
            outline=tuple(max(part - 24, 0) for part in green),
        )
