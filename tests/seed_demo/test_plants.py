"""The list of what the invented nursery propagates."""

from app.domain.hormones import parse_hormone
from app.domain.lost_causes import DEFAULT_CAUSES
from app.domain.plant_names import NameStatus, parse_plant_name
from seed_demo.nature import OTHER_CAUSES
from seed_demo.places import BENCHES, MIXES
from seed_demo.plants import read_habits

HABITS = read_habits()


def test_the_list_is_mixed() -> None:
    genera = {habit.name.split()[0] for habit in HABITS}
    assert {"Hebe", "Hydrangea", "Lavandula", "Thymus", "Pelargonium", "Fuchsia"} <= genera
    assert len(genera) > 35


def test_every_name_is_one_as_typed() -> None:
    for habit in HABITS:
        parsed = parse_plant_name(habit.name)
        assert (parsed.status, parsed.normalised) == (NameStatus.OK, habit.name)


def test_every_line_leans_on_what_there_is() -> None:
    benches = {bench.name for bench in BENCHES}
    mixes = {mix.name for mix in MIXES} | {"Perlite and compost"}
    containers = {"84-plug tray", "104-plug tray", "9 cm pot", "Lined out"}
    for habit in HABITS:
        assert habit.bench in benches
        assert set(habit.mixes) <= mixes
        assert habit.container in containers
        assert all(parse_hormone(text) is not None for text in habit.hormones)
        assert habit.lost_to in DEFAULT_CAUSES
        assert 0 < habit.rate < 1
        assert 1 <= habit.trays[0] <= habit.trays[1]
        assert set(habit.months) <= set(range(1, 13))
    assert {cause for cause, _ in OTHER_CAUSES} <= set(DEFAULT_CAUSES)


def test_months_may_go_over_the_turn_of_the_year() -> None:
    months = {habit.name: habit.months for habit in HABITS}
    assert months["Cornus alba 'Sibirica'"] == (11, 12, 1, 2)
    assert months["Hebe 'Great Orme'"] == (8, 9, 10)
