"""A batch told in sentences."""

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from app.domain.batch_stories import BatchNames, story_of, what_stuck
from app.domain.batches import BatchEntry
from app.domain.containers import ContainerKind
from app.domain.cutting_types import Cut, CuttingType, Section
from app.domain.hormones import Hormone

TODAY = date(2026, 11, 25)
PLAIN = BatchEntry(plant_name_id=1, stuck_on=TODAY, stuck=96)
NAMES = BatchNames(
    mix="Perlite and bark, version 1", mix_lot="M-0001", container="9 cm pot", bench="Mist bench 2",
    gathered_by="Ada", made_by="Tomas", stuck_by="Ines",
)  # fmt: skip
FULL = replace(
    PLAIN, cutting_type=CuttingType.SEMI_RIPE, section=Section.TIP, cut=Cut.NODAL, length_cm=11,
    leaves_left=3, leaves_halved=True, buds_removed=True, wounded=False, per_place=6,
    placed="round the edge", hormone=Hormone(substance="IBA", form="talc", ppm=1000), dip_s=3,
    cover="mist", bottom_heat_c=20, shade="light", taken_on=TODAY - timedelta(days=1), taken=104,
    thrown_out=8, stored_hours=20, stored_c=4, stored_how="damp", hours=1.5, trays=16, per_tray=6,
    gaps=0, taken_over=("cover", "bottom_heat_c"),
)  # fmt: skip


def told(entry: BatchEntry, **names: str) -> tuple[str, ...]:
    return story_of(entry, names=BatchNames(**names), today=TODAY)


def test_a_batch_with_everything_said() -> None:
    what = (
        "96 semi-ripe tip cuttings (16 trays of 6), cut just below a node, 11 cm, three leaves "
        "left and halved, flower buds removed, not wounded; IBA talc 1000 ppm for 3 seconds."
    )
    where = (
        "Six round the edge in each 9 cm pot, in Perlite and bark, version 1 (lot M-0001), under "
        "mist, bottom heat 20 °C, shade: light, on Mist bench 2."
    )
    when = (
        "Taken 104 on Tue 24 Nov by Ada, 8 thrown out at making, stored 20 hours at 4 °C (damp), "
        "made by Tomas, stuck on Wed 25 Nov by Ines in 1.5 hours (64 an hour)."
    )
    taken_over = "Cover and bottom heat were taken over from the method card, not measured."
    told = story_of(FULL, names=NAMES, today=TODAY)
    assert told == (what, where, when, taken_over)


def test_one_hour_is_one() -> None:
    sentences = told(replace(PLAIN, hours=1, stuck=96))
    assert any("in 1 hour (96 an hour)" in sentence for sentence in sentences)


def test_a_tray_has_plugs() -> None:
    names = BatchNames(container="84-plug tray", container_kind=ContainerKind.TRAY)
    where = story_of(replace(PLAIN, per_place=1), names=names, today=TODAY)[1]
    assert where == "One in each plug of 84-plug tray."
    names = BatchNames(container="Open tray", container_kind=ContainerKind.TRAY)
    assert story_of(PLAIN, names=names, today=TODAY)[1] == "Open tray."


def test_a_batch_with_nothing_said_says_what_is_unknown() -> None:
    assert told(PLAIN) == (
        "96 cuttings.",
        "Stuck on Wed 25 Nov.",
        "Not recorded: cutting type, hormone, mix, container, cover and bench.",
    )


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"stuck": 1}, "1 cutting"),
        ({"cutting_type": CuttingType.ROOT}, "96 root cuttings"),
        ({"cutting_type": CuttingType.DIVISION}, "96 divisions"),
        ({"cutting_type": CuttingType.GRAFT, "stuck": 1}, "1 graft"),
        ({"stuck": 1020, "section": Section.BASAL}, "1,020 basal cuttings"),
    ],
)
def test_what_was_stuck(changes: dict[str, Any], words: str) -> None:
    assert what_stuck(replace(PLAIN, **changes)) == words


def test_no_cover_and_no_hormone_are_said() -> None:
    entry = replace(PLAIN, cover="none", hormone=Hormone(substance="none"))
    first, second, *_ = told(entry)
    assert first == "96 cuttings; no hormone."
    assert second == "Uncovered."


def test_a_card_that_only_says_covered() -> None:
    assert told(replace(PLAIN, cover="covered"))[1] == "Covered."


def test_taken_and_stuck_on_one_day() -> None:
    entry = replace(PLAIN, taken_on=TODAY)
    assert told(entry, stuck_by="Ines")[1] == "Stuck on Wed 25 Nov by Ines, taken the same day."
    assert "Taken on Wed 25 Nov by Ada, stuck on" in told(entry, gathered_by="Ada")[1]


def test_a_soak_is_told_in_hours() -> None:
    soak = Hormone(substance="IBA", form="soak", ppm=50)
    assert "for 6 hours" in told(replace(PLAIN, hormone=soak, dip_s=6 * 3600))[0]
    assert "Stored 7 days" in told(replace(PLAIN, stored_hours=168))[1]
