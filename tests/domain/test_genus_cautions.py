"""Cautions by genus and by kind of work.

`data/genus_cautions.csv`: each row carries its basis; those marked published come from a list of
potentially harmful garden plants of which the entries A to H were seen.
"""

import csv
from collections import defaultdict
from pathlib import Path

from app.domain.genus_cautions import FORUM, QUOTED, caution_words, genus_caution
from app.domain.hormones import Hormone
from app.domain.work_cautions import DUST, HORMONE, KNIVES, MEDIUM, sticking_cautions

BASES = {
    "published list of potentially harmful garden plants (as quoted by a grower)": QUOTED,
    "as published by a trade forum, not confirmed": FORUM,
}
CASES = Path(__file__).parent.parent / "data" / "genus_cautions.csv"


def test_every_listed_genus_carries_its_caution_route_and_basis() -> None:
    rows = defaultdict(list)
    for row in csv.DictReader(CASES.read_text(encoding="utf-8").splitlines()[1:]):
        rows[row["genus"]].append(row)
    assert len(rows) == 51
    for genus, listed in rows.items():
        caution = genus_caution(genus)
        assert caution is not None
        for row in listed:
            assert row["caution"] in caution.caution
            assert row["applies_to"] in f"{caution.applies_to} {caution.caution}"
            assert set(row["route"].split("+")) <= set(caution.route.split(" + "))
            assert caution.basis == BASES.get(row["basis"], row["basis"])


def test_a_genus_without_a_caution_never_reads_as_safe() -> None:
    assert genus_caution("Hebe") is None
    assert caution_words("") == "no caution recorded."
    assert "safe" not in caution_words("")


def test_a_caution_says_what_it_applies_to_and_where_it_comes_from() -> None:
    caution = genus_caution("Juniperus")
    assert caution is not None
    words = caution_words(caution.caution, applies_to=caution.applies_to, basis=caution.basis)
    assert words == "skin irritant (some) (x pfitzeriana). (common practice, no source)"


def test_hormone_is_minded_unless_none_is_used() -> None:
    assert HORMONE in sticking_cautions(None)
    assert HORMONE in sticking_cautions(Hormone(substance="IBA"))
    assert sticking_cautions(Hormone(substance="none")) == (KNIVES, MEDIUM, DUST)
