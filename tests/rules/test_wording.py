"""What the project's files never say: they speak of the project alone, and are finished."""

import re

from tests.rules.sources import ROOT, listed, shown, text_files

# A bar is set into each word, so that this file does not hold what it looks for.
ELSEWHERE = (
    r"tr¦anscript",
    r"s¦eed document",
    r"d¦esign card",
    r"s¦ub-?agent",
    r"l¦anguage model",
    r"\bi¦ssue #?[0-9]",
    r"(?<![\w.:/~-])/(w¦ork|h¦ome|r¦oot|f¦arm|t¦mp)/",
    r"p¦ypi\.org",
    r"p¦ythonhosted",
    r"n¦pmjs",
    r"\bd¦eb\.debian",
)
UNFINISHED = (r"\bTO¦DO\b", r"\bFIX¦ME\b", r"\bX¦XX\b", r"\bNotImple¦mentedError\b")
NOT_ON_SCREENS = (r"\bwhole h¦ouse\b", r"\bcertain r¦ange\b", r"\bcostliest w¦ait\b")


def _pattern(words: tuple[str, ...]) -> re.Pattern[str]:
    return re.compile("|".join(words).replace("¦", ""), re.IGNORECASE)


def _places(words: tuple[str, ...], *, below: str = "") -> list[str]:
    pattern = _pattern(words)
    return [
        f"{shown(path, number)} {found.group(0)!r}"
        for path in text_files()
        if shown(path).startswith(below)
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1)
        if (found := pattern.search(line))
    ]


def test_the_patterns_find_what_they_are_for() -> None:
    told = _pattern(ELSEWHERE)
    assert told.search("see is¦sue #12".replace("¦", ""))
    assert told.search("kept in /w¦ork/main".replace("¦", ""))
    assert not told.search("the browser at /usr/bin/chromium, and tis¦sue 12".replace("¦", ""))
    assert _pattern(UNFINISHED).search("# TO¦DO later".replace("¦", ""))


def test_files_speak_of_the_project_alone() -> None:
    places = _places(ELSEWHERE)
    assert not places, listed("Say it without what stands outside the project:", places)


def test_nothing_is_left_for_later() -> None:
    places = _places(UNFINISHED)
    assert not places, listed("Finish it or take it out:", places)


def test_screens_use_the_words_of_the_trade() -> None:
    places = _places(NOT_ON_SCREENS, below="app/web/templates")
    assert not places, listed("Say whole nursery, at worst and at best, standing too long:", places)


def test_no_page_of_the_docs_is_empty() -> None:
    pages = (ROOT / "docs").rglob("*.md")
    empty = [shown(page) for page in pages if not page.read_text(encoding="utf-8").strip()]
    assert not empty, listed("Write or remove:", empty)
