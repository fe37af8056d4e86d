"""The page checks find what they are there for."""

import pytest

from tests.web.page_checks import page_faults

SOUND = """<!doctype html><html lang="en"><head><title>Mixes | Strikewell</title></head><body>
<header>x</header><main><h1>Mixes</h1>
<form method="post"><input type="hidden" name="csrf_token"><label for="a">A</label><input id="a">
<svg aria-hidden="true"><path d="M0 0"/></svg><button>Save</button></form>
<a href="#a">to A</a></main><footer>y</footer></body></html>"""


def test_a_sound_page_has_no_faults() -> None:
    assert page_faults(SOUND) == []


def test_a_picture_speaks_for_the_link_round_it() -> None:
    picture = '<a href="#a"><img src="/x.jpg" alt="a tray"></a>'
    assert page_faults(SOUND.replace('<a href="#a">to A</a>', picture)) == []
    mute = picture.replace("a tray", "")
    assert len(page_faults(SOUND.replace('<a href="#a">to A</a>', mute))) == 2


@pytest.mark.parametrize(
    ("sound", "broken", "fault"),
    [
        ("<!doctype html>", "", "doctype"),
        (' lang="en"', "", "lang"),
        ("Mixes | Strikewell", " | Strikewell", "title"),
        ("<h1>Mixes</h1>", "", "h1"),
        ("<h1>Mixes</h1>", "<h1>Mixes</h1><h1>Again</h1>", "h1"),
        ("<h1>Mixes</h1>", "<h1>Mixes</h1><h3>Deep</h3>", "h1 is followed by h3"),
        ("<footer>y</footer>", "", "<footer>"),
        ("<header>x</header>", '<header id="a">x</header>', "2 times"),
        ('href="#a"', 'href="#b"', "no id 'b'"),
        ('<label for="a">A</label>', "", "no label"),
        ('<label for="a">A</label>', '<label for="a"></label>', "no label"),
        ("<main>", '<main style="color:red">', "inline style"),
        ("<main>", "<main><script>1</script>", "inline"),
        ("<main>", '<main onclick="x()">', "onclick"),
        ('href="#a"', 'href="https://example.org/"', "outside"),
        ('href="#a"', 'href="//example.org/"', "outside"),
        ("<button>Save", "<button>", "says nothing"),
        ('<svg aria-hidden="true">', "<svg>", "says nothing"),
        ('<input type="hidden" name="csrf_token">', "", "tokens"),
        ('<form method="post">', "<form>", "no method"),
        ("<button>", '<form method="get"></form><button>', "inside a form"),
    ],
)
def test_each_fault_is_found(sound: str, broken: str, fault: str) -> None:
    assert sound in SOUND
    faults = page_faults(SOUND.replace(sound, broken, 1))
    assert any(fault in one for one in faults), faults
