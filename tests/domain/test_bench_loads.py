"""How full a bench is, in words."""

import pytest

from app.domain.bench_loads import BenchLoad


@pytest.mark.parametrize(
    ("load", "over", "percent", "words"),
    [
        (BenchLoad(trays=20, room=24), False, 83, "20 of 24 trays, room for 4 more"),
        (BenchLoad(trays=24, room=24), False, 100, "24 of 24 trays, room for 0 more"),
        (BenchLoad(trays=30, room=24), True, 100, "30 of 24 trays, 6 too many"),
        (BenchLoad(trays=1, room=None), False, None, "1 tray, room not recorded"),
        (BenchLoad(trays=0, room=0), False, None, "0 of 0 trays, room for 0 more"),
        (
            BenchLoad(trays=2, room=24, uncounted=1), False, 8,
            "2 of 24 trays, room for 22 more; 1 batch without a number of trays",
        ),
    ],
)  # fmt: skip
def test_a_load_in_words(load: BenchLoad, over: bool, percent: int | None, words: str) -> None:
    assert (load.is_over, load.percent, load.words) == (over, percent, words)


def test_only_too_many_warn() -> None:
    assert BenchLoad(trays=24, room=24).warning("Mist bench 2") == ""
    assert BenchLoad(trays=24, room=None).warning("Mist bench 2") == ""
    warning = BenchLoad(trays=25, room=24).warning("Mist bench 2")
    assert warning == "Mist bench 2 now holds 25 trays; there is room for 24."
