"""Places of differences: better right, worse left, the middle line is none."""

from app.web.difference_pictures import DifferenceLine, difference_picture


def test_no_line_no_picture() -> None:
    assert difference_picture([]) is None


def test_better_stands_right_of_none_and_worse_left() -> None:
    found = difference_picture(
        [
            DifferenceLine(label="All", points=0.06, low=0.02, high=0.10),
            DifferenceLine(label="Like with like", points=-0.04),
        ]
    )
    assert found is not None
    middle = found.width / 2
    better, worse = found.marks
    assert better.box is not None
    assert better.box.x > middle
    assert better.box.x + better.box.width <= found.width
    assert worse.box is None
    assert float(worse.point[1:].split(" ")[0]) < middle
    texts = [word.text for word in found.words]
    assert {"All", "+6 points", "−4 points", "−10", "0", "+10"} <= set(texts)


def test_long_labels_are_cut_and_wide_ranges_scaled() -> None:
    found = difference_picture([DifferenceLine(label="x" * 60, points=0.0, low=-0.9, high=0.9)])
    assert found is not None
    texts = [word.text for word in found.words]
    assert max(map(len, texts)) <= 26
    assert {"−100", "+100"} <= set(texts)
