"""Pictures made upright, smaller and bare; hostile ones refused in little memory.

What orientation means is TIFF 6.0 and Exif 2.32, tag 274 (from memory): 6 is a picture whose top
stands at the right. Pillow's own reading is the other side in the test of all eight.
"""

import io
import os
import resource
import subprocess
import sys
from pathlib import Path

import pytest
from PIL import Image, ImageCms, ImageOps

from app.domain.problems import NotAccepted
from app.formats.pictures import DrawnPicture, draw_photograph
from tests.formats import sent_pictures
from tests.formats.sent_pictures import REFUSED, TAKEN, drawn, from_a_phone, noisy, saved

MOST_MEMORY = 100_000_000
ROOT = Path(__file__).parents[2]
_MEASURE = r"""
import pathlib, re, sys
import app.web
from app.domain.problems import NotAccepted
from app.formats.pictures import draw_photograph
def held():
    status = pathlib.Path("/proc/self/status").read_text()
    return int(re.search(r"VmHWM:\s+(\d+) kB", status)[1]) * 1024
before = held()
for name in sys.argv[1:]:
    with open(name, "rb") as file:
        try:
            draw_photograph(file)
            said = "taken"
        except NotAccepted as refusal:
            said = str(refusal)
    print(held() - before, said, flush=True)
"""


def read(picture: DrawnPicture) -> Image.Image:
    image = Image.open(io.BytesIO(picture.content))
    image.load()
    return image


def corners(image: Image.Image) -> list[str]:
    """Name the four quarters, from top left."""
    width, height = image.size
    names = []
    for across, down in ((0.25, 0.25), (0.75, 0.25), (0.25, 0.75), (0.75, 0.75)):
        point = image.getpixel((int(width * across), int(height * down)))
        assert isinstance(point, tuple)
        red, green, blue = point[:3]
        if min(red, green, blue) > 200:
            names.append("white")
        else:
            names.append(max((red, "red"), (green, "green"), (blue, "blue"))[1])
    return names


def test_a_photograph_stands_upright() -> None:
    large = read(draw_photograph(io.BytesIO(from_a_phone(6))).large)
    assert large.size == (480, 640)
    assert corners(large) == ["blue", "red", "white", "green"]


@pytest.mark.parametrize("orientation", range(10))
def test_it_is_turned_as_pillow_turns_it(orientation: int) -> None:
    sent = from_a_phone(orientation)
    expected = ImageOps.exif_transpose(Image.open(io.BytesIO(sent)))
    large = read(draw_photograph(io.BytesIO(sent)).large)
    assert (large.size, corners(large)) == (expected.size, corners(expected))


def test_nothing_but_the_points_is_kept() -> None:
    sent = from_a_phone()
    photograph = draw_photograph(io.BytesIO(sent))
    for word in (b"Secretive", b"Wilhelmina", b"north house", b"hidden words"):
        assert word in sent
        for picture in (photograph.large, photograph.small):
            assert word not in picture.content
    for picture in (photograph.large, photograph.small):
        image = read(picture)
        assert len(image.getexif()) == 0
        assert set(image.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}


def test_it_is_made_smaller_and_never_larger() -> None:
    photograph = draw_photograph(io.BytesIO(saved(noisy(4_032, 3_024))))
    assert (photograph.large.width, photograph.large.height) == (1600, 1200)
    assert (photograph.small.width, photograph.small.height) == (320, 240)
    assert len(photograph.small.content) < len(photograph.large.content) < 1_000_000
    little = draw_photograph(io.BytesIO(saved(noisy(200, 100))))
    assert (little.large.width, little.small.width) == (200, 200)
    thin = draw_photograph(io.BytesIO(saved(noisy(6_000, 3))))
    assert (thin.large.height, thin.small.height) == (1, 1)


def test_what_is_see_through_stands_on_white() -> None:
    for mode in ("RGBA", "LA"):
        empty = Image.new(mode, (64, 64), (0,) * len(Image.new(mode, (1, 1)).getbands()))
        large = read(draw_photograph(io.BytesIO(saved(empty, "PNG"))).large)
        assert large.getpixel((32, 32)) == (255, 255, 255)


@pytest.mark.parametrize("mode", ["1", "L", "P", "CMYK"])
def test_other_colours_are_taken(mode: str) -> None:
    kind = "JPEG" if mode == "CMYK" else "PNG"
    photograph = draw_photograph(io.BytesIO(saved(drawn().convert(mode), kind)))
    assert read(photograph.large).mode == "RGB"


def test_16_bits_of_grey_are_refused_in_words() -> None:
    with pytest.raises(NotAccepted, match="damaged"):
        draw_photograph(io.BytesIO(saved(Image.new("I;16", (64, 64)), "PNG")))


def test_other_colours_of_a_phone_become_common_ones() -> None:
    # A profile that swaps nothing else: the same points seen under a linear curve are brighter.
    profile = ImageCms.createProfile("XYZ")
    odd = saved(drawn(), icc_profile=ImageCms.ImageCmsProfile(profile).tobytes())
    assert corners(read(draw_photograph(io.BytesIO(odd)).large))[0] == "red"
    broken = saved(drawn(), icc_profile=b"no profile at all" * 20)
    assert corners(read(draw_photograph(io.BytesIO(broken)).large))[0] == "red"


def test_the_same_picture_becomes_the_same_file() -> None:
    one, other = (draw_photograph(io.BytesIO(from_a_phone())) for _ in range(2))
    assert one.large.file == other.large.file
    assert one.large.file.sha256 != one.small.file.sha256


@pytest.mark.parametrize("name", REFUSED)
def test_what_is_refused_is_told(name: str) -> None:
    content, words = REFUSED[name]
    with pytest.raises(NotAccepted, match=words) as refused:
        draw_photograph(io.BytesIO(content))
    assert [problem.field for problem in refused.value.problems] == ["picture"]


def test_an_archive_behind_a_picture_is_not_kept() -> None:
    photograph = draw_photograph(io.BytesIO(sent_pictures.with_archive()))
    assert b"PK" not in photograph.large.content[-200:]
    assert b"script" not in photograph.large.content


def test_no_picture_takes_more_than_150_mb(tmp_path: Path) -> None:
    # Linux tells the most memory that a process of its own ever held; getrusage would count that
    # of the tests, from which it was started. What the program holds before any picture comes is
    # taken off; a picture has two thirds of the limit, so that the rest is there for its request.
    sent = {name: content for name, (content, _) in REFUSED.items()} | TAKEN
    paths = []
    for place, content in enumerate(sent.values()):
        path = tmp_path / str(place)
        path.write_bytes(content)
        paths.append(str(path))
    environment = {**os.environ, "OPENBLAS_NUM_THREADS": "1"}
    answer = subprocess.run(
        [sys.executable, "-c", _MEASURE, *paths],
        cwd=ROOT,
        env=environment,
        capture_output=True,
        text=True,
        check=True,
        # Nor may they keep a PC busy: half a minute of work for all of them together.
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_CPU, (30, 30)),
    )
    told = [line.partition(" ") for line in answer.stdout.splitlines()]
    assert len(told) == len(sent)
    for name, (memory, _, said) in zip(sent, told, strict=True):
        assert int(memory) < MOST_MEMORY, name
        assert (said == "taken") == (name in TAKEN), (name, said)
