"""Published rows stand exactly as the file has them, each for the plant it names alone.

The file: published rooting results, source by source_id, read in public copies, mostly abstracts.
"""

import csv
from pathlib import Path

import pytest

from app.domain.published_rates import PublishedRow, published_rows
from app.domain.published_words import NO_INTERVAL, published_line
from app.domain.starting_cards import starting_sources
from app.domain.strike_rates import ASSUMED_CORRELATION

FILE = Path(__file__).parent.parent / "data" / "published_rooting.csv"


def rows() -> list[dict[str, str]]:
    lines = FILE.read_text(encoding="utf-8").splitlines(keepends=True)
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def line_of(row: PublishedRow) -> str:
    return published_line(row, correlation=ASSUMED_CORRELATION).rooted


def test_row_by_row_as_in_the_file() -> None:
    sources = starting_sources()
    by_genus: dict[str, list[dict[str, str]]] = {}
    for row in rows():
        by_genus.setdefault(row["genus"], []).append(row)
    assert sum(map(len, by_genus.values())) == 169
    for genus, printed in by_genus.items():
        shown = published_rows(genus=genus)
        assert len(shown) == len(printed)
        for ours, theirs in zip(shown, printed, strict=True):
            assert ours.plant == theirs["species_or_cultivar"]
            assert ours.cutting_type == theirs["cutting_type"]
            assert ours.when == theirs["month_or_season"]
            assert (ours.medium, ours.treatment) == (theirs["medium"], theirs["treatment"])
            assert (ours.stuck, ours.rooted) == (theirs["n_stuck"], theirs["n_rooted"])
            assert (ours.percent, ours.qualifier) == (
                theirs["percent_rooted"],
                theirs["qualifier"],
            )
            assert (ours.percent_low, ours.percent_high) == (
                theirs["percent_low"],
                theirs["percent_high"],
            )
            assert (ours.days, ours.days_basis) == (theirs["days_to_root"], theirs["days_basis"])
            assert (ours.locator, ours.note) == (theirs["locator"], theirs["note"])
            assert ours.source == sources[theirs["source_id"]]


def test_author_year_and_place_stand_beside_each_row() -> None:
    cedrus = published_line(published_rows(genus="Cedrus")[0], correlation=0.12)
    assert cedrus.source.startswith("W. L. Doran, 1941, Propagation of trees and shrubs")
    assert cedrus.source.endswith("bulletin p. 16")


def test_a_percentage_without_counts_has_no_interval_and_says_so() -> None:
    with_counts = 0
    for genus in {row["genus"] for row in rows()}:
        for row in published_rows(genus=genus):
            line = published_line(row, correlation=0.12)
            if row.stuck and row.rooted:
                with_counts += 1
                assert "taken as one batch" in line.interval
            else:
                assert " to " not in line.interval
                assert line.interval in {NO_INTERVAL, ""}
    assert with_counts == sum(1 for row in rows() if row["n_stuck"] and row["n_rooted"]) == 12


def test_counts_are_taken_as_one_batch() -> None:
    # 156 of 240; n / (1 + (n - 1) 0.12) = 8.0863 effective cuttings; Wilson's limits by hand:
    # (k + z^2/2 -+ z sqrt(k (n - k)/n + z^2/4)) / (n + z^2) with z = 1.95996 (computed).
    plum = next(row for row in published_rows(genus="Prunus") if row.rooted == "156")
    line = published_line(plum, correlation=0.12)
    assert line.rooted == "156 of 240, 65 %"
    assert line.interval == "33 to 88 %, taken as one batch"


def test_limits_and_ranges_are_said_as_printed() -> None:
    said = {
        line_of(row)
        for genus in ("Laurus", "Arbutus", "Ribes")
        for row in published_rows(genus=genus)
    }
    assert {"more than 50 %", "less than 50 %", "about 77 %"} <= said
    lilac = [row for row in published_rows(genus="Syringa") if row.qualifier == "range"]
    assert "20 to 32 %" in {line_of(row) for row in lilac}


def test_the_month_of_a_trial_is_said_as_printed_and_never_stretched() -> None:
    # Months 4 and 8 of one trial are not April to August.
    assert {row.when for row in published_rows(genus="Laurus")} == {"April and August"}
    july = next(row for row in published_rows(genus="Ceanothus") if row.when)
    assert july.when == "July"


@pytest.mark.parametrize(
    ("genus", "species", "plants"),
    [
        ("Ilex", "glabra", {"I. glabra"}),
        ("Ilex", "crenata", {"I. crenata", "I. crenata 'Helleri'"}),
        ("Ilex", "verticillata", set()),
        ("Mentha", "piperita", {"M. x piperita"}),
        ("Populus", "alba", set()),  # printed as a cross of two species: neither alone
        ("Cupressocyparis", "leylandii", {"x C. leylandii"}),
        ("Celastrus", "scandens", set()),  # printed under a common name: not guessed
        ("Salvia", "rosmarinus", {"Rosmarinus officinalis (Salvia rosmarinus)"}),
    ],
)
def test_one_species_is_shown_its_own_rows_alone(
    genus: str, species: str, plants: set[str]
) -> None:
    assert {row.plant for row in published_rows(genus=genus, species=species)} == plants


def test_one_plant_name_is_shown_rows_that_name_it() -> None:
    named = published_rows(genus="Ilex", species="crenata", plant="Ilex crenata 'Helleri'")
    assert {row.plant for row in named} == {"I. crenata 'Helleri'"}
    assert published_rows(genus="Ilex", species="crenata", plant="Ilex crenata 'Convexa'") == ()
    magnolia = published_rows(genus="Magnolia", plant="Magnolia 'Hot Flash'")
    assert {row.plant for row in magnolia} == {"'Hot Flash'"}
