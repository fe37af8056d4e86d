"""An answer about strike rates as a page shows it: a table, a page of lines at a time."""

from dataclasses import dataclass
from typing import Final

from app.domain.days import MONTHS
from app.domain.strike_rates import Basis, RateSquare
from app.domain.strike_rates_answers import RateAnswer, RateGroup
from app.domain.strike_rates_keys import NOT_RECORDED, RateKey, value_words
from app.domain.strike_rates_questions import only_way_of
from app.domain.strike_rates_words import (
    NO_DATA,
    basis_words,
    batches,
    estimate_words,
    outcome_words,
    percent,
    range_words,
)
from app.domain.way_words import told_for
from app.web.rate_addresses import behind_address
from app.web.rate_pictures import RatePicture, lying_picture, strip_picture

MOST_COLUMNS: Final = 24
_GRID_LINES: Final = 25
_LIST_LINES: Final = 50
_PLANT_KEYS: Final = frozenset({RateKey.GENUS, RateKey.PLANT})


@dataclass(frozen=True, kw_only=True)
class Label:
    """A value as a page says it; `botanical` ones are set as plant names."""

    text: str
    botanical: bool


@dataclass(frozen=True, kw_only=True)
class ShownSquare:
    """One group in words: its figure, the range beside it, its counts, and what it rests on."""

    figure: str
    beside: str
    size: str
    counts: str
    rests_on: str
    few: bool
    href: str
    group: RateGroup


@dataclass(frozen=True, kw_only=True)
class ShownLine:
    """One line of the table: its labels, then one square per column, or one for the line."""

    labels: tuple[Label, ...]
    batches: int
    stuck: int
    squares: tuple[ShownSquare | None, ...]


@dataclass(frozen=True, kw_only=True)
class ShownTable:
    """A page of the table with its picture; without `columns` each line is one group.

    `page` counts from 1 to `pages`. `too_wide` says that the second name has too many values to
    stand beside each other, so that they stand below each other instead.
    """

    heads: tuple[str, ...]
    columns: tuple[Label, ...]
    lines: tuple[ShownLine, ...]
    picture: RatePicture
    page: int
    pages: int
    too_wide: bool


def shown_table(answer: RateAnswer, *, page: int) -> ShownTable:
    """Return the lines of one page; a page that is not there is the nearest one."""
    columns = answer.columns
    too_wide = len(columns) > MOST_COLUMNS
    if columns and not too_wide:
        return _grid(answer, page=page)
    return _list(answer, page=page, too_wide=too_wide)


def shown_square(group: RateGroup, *, answer: RateAnswer) -> ShownSquare:
    """Return one group of the answer in words, with the address of the batches behind it."""
    square = group.square
    every = group.facts.every
    way = only_way_of(answer.question.where)
    figure, beside = _figure(square)
    return ShownSquare(
        figure=figure,
        beside=beside,
        size=told_for(f"{batches(every.batches)}, {every.stuck:,} stuck", cutting_type=way),
        counts=told_for(outcome_words(every), cutting_type=way) + _plainly(square),
        rests_on=basis_words(square.basis),
        few=square.few,
        href=behind_address(group, question=answer.question),
        group=group,
    )


def _plainly(square: RateSquare) -> str:
    """Return the plain share where the figure shown is a learned one, so that both are seen."""
    finished = square.basis is Basis.FINISHED and square.learned is not None
    if not finished or square.strike_share is None:
        return ""
    return f", plainly {percent(square.strike_share)}"


def _figure(square: RateSquare) -> tuple[str, str]:
    low, high = square.estimate_low_share, square.estimate_high_share
    if low is None or high is None:
        return NO_DATA, ""
    if square.estimate_share is None:
        return estimate_words(square), ""
    return percent(square.estimate_share), range_words(low, high=high)


def _grid(answer: RateAnswer, *, page: int) -> ShownTable:
    first, second = answer.question.by
    at, pages = _page(page, lines=len(answer.rows), per_page=_GRID_LINES)
    part = slice((at - 1) * _GRID_LINES, at * _GRID_LINES)
    rows, grid = answer.rows[part], answer.grid[part]
    lines = tuple(
        ShownLine(
            labels=(_label(row.values[0], key=first),),
            batches=row.facts.every.batches,
            stuck=row.facts.every.stuck,
            squares=tuple(
                shown_square(group, answer=answer) if group else None for group in groups
            ),
        )
        for row, groups in zip(rows, grid, strict=True)
    )
    return ShownTable(
        heads=(first.label,),
        columns=tuple(_label(value, key=second) for value in answer.columns),
        lines=lines,
        picture=strip_picture(
            grid,
            rows=[line.labels[0].text for line in lines],
            columns=[_short(value, key=second) for value in answer.columns],
        ),
        page=at,
        pages=pages,
        too_wide=False,
    )


def _list(answer: RateAnswer, *, page: int, too_wide: bool) -> ShownTable:
    at, pages = _page(page, lines=len(answer.groups), per_page=_LIST_LINES)
    groups = answer.groups[(at - 1) * _LIST_LINES : at * _LIST_LINES]
    by = answer.question.by
    lines = tuple(
        ShownLine(
            labels=tuple(
                _label(value, key=key) for key, value in zip(by, group.values, strict=True)
            ),
            batches=group.facts.every.batches,
            stuck=group.facts.every.stuck,
            squares=(shown_square(group, answer=answer),),
        )
        for group in groups
    )
    labels = [", ".join(label.text for label in line.labels) for line in lines]
    return ShownTable(
        heads=tuple(key.label for key in by),
        columns=(),
        lines=lines,
        picture=lying_picture(groups, labels=labels),
        page=at,
        pages=pages,
        too_wide=too_wide,
    )


def _page(page: int, *, lines: int, per_page: int) -> tuple[int, int]:
    pages = max(1, -(-lines // per_page))
    return min(max(page, 1), pages), pages


def _label(value: str, *, key: RateKey) -> Label:
    botanical = key in _PLANT_KEYS and value != NOT_RECORDED
    return Label(text=value_words(value, key=key), botanical=botanical)


def _short(value: str, *, key: RateKey) -> str:
    if key is RateKey.MONTH and value.isdecimal():
        return MONTHS[int(value) - 1][:3]
    if value == NOT_RECORDED:
        return "blank"
    return value_words(value, key=key)
