"""Words fitted into a box, with letters that are all half as wide as high."""

from app.formats.label_fitting import SMALLEST_PT, Face, Run, fit

HALF = 0.5


def measure(text: str, *, face: Face) -> float:
    return HALF * len(text)


def lines_of(text: str, *, width: float, height: float, largest: float = 12.0) -> list[str]:
    fitted = fit(
        (Run(text=text),), width_pt=width, height_pt=height, largest_pt=largest, measure=measure
    )
    return ["".join(run.text for run in line) for line in fitted.lines]


def test_what_fits_is_written_large_on_one_line() -> None:
    fitted = fit((Run(text="Hebe"),), width_pt=100, height_pt=20, largest_pt=12, measure=measure)
    assert (fitted.size_pt, len(fitted.lines), fitted.cut) == (12, 1, False)


def test_long_names_wrap_between_words_then_shrink() -> None:
    assert lines_of("Rosa moyesii", width=40, height=30) == ["Rosa", "moyesii"]
    fitted = fit(
        (Run(text="Rosa moyesii"),), width_pt=40, height_pt=15, largest_pt=12, measure=measure
    )
    assert (fitted.size_pt, len(fitted.lines)) == (6.5, 1)


def test_a_word_is_broken_only_in_the_smallest_writing_and_the_rest_is_cut() -> None:
    long = "Chamaecyparis" * 3
    fitted = fit((Run(text=long),), width_pt=30, height_pt=16, largest_pt=12, measure=measure)
    assert fitted.size_pt == SMALLEST_PT
    assert fitted.cut
    written = ["".join(run.text for run in line) for line in fitted.lines]
    assert written == [long[:10], f"{long[10:19]}…"]


def test_faces_stay_with_their_words() -> None:
    fitted = fit(
        (Run(text="Rosa", face=Face.ITALIC), Run(text=" ‘Nevada’")),
        width_pt=200,
        height_pt=20,
        largest_pt=10,
        measure=measure,
    )
    assert fitted.lines[0][0] == Run(text="Rosa", face=Face.ITALIC)
    assert fitted.lines[0][-1] == Run(text="‘Nevada’")


def test_nothing_stays_nothing() -> None:
    assert lines_of("", width=10, height=10) == []
