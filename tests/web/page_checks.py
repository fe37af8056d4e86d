"""What every HTML page must hold, whichever test fetched it.

Sources: HTML Living Standard (unique ids, one title, language, labels); WCAG 2.2 success criteria
1.3.1, 2.4.2, 3.1.1, 4.1.2; the page policy of this program, which allows neither inline style nor
inline script nor any outside address.
"""

import re
from collections import Counter
from dataclasses import dataclass, field
from html.parser import HTMLParser
from itertools import pairwise
from typing import Any, Final

from flask.testing import FlaskClient
from werkzeug.test import TestResponse

_VOID: Final = frozenset({"base", "br", "col", "hr", "img", "input", "link", "meta", "wbr"})
_SHAPES: Final = frozenset({"path", "rect", "circle", "ellipse", "line", "polygon", "polyline"})
_UNLABELLED: Final = frozenset({"hidden", "submit", "button", "image", "reset"})
_LANDMARKS: Final = ("header", "main", "footer")
_OUTSIDE: Final = re.compile(r"^\s*(?:[a-z][a-z0-9+.-]*:)?//", re.IGNORECASE)
_ADDRESSES: Final = frozenset({"href", "src", "action", "srcset", "poster", "data"})


@dataclass
class Element:
    """One element with its attributes, its ancestors' names and the text within it."""

    tag: str
    attributes: dict[str, str]
    inside: tuple[str, ...]
    text: str = ""

    def get(self, name: str) -> str:
        return self.attributes.get(name, "")


@dataclass
class Page(HTMLParser):
    """A page as a flat list of its elements in document order."""

    elements: list[Element] = field(default_factory=list)
    open: list[Element] = field(default_factory=list)
    doctype: str = ""

    def __post_init__(self) -> None:
        super().__init__(convert_charrefs=True)

    def handle_decl(self, decl: str) -> None:
        self.doctype = decl.lower()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        attributes = {name: value or "" for name, value in attrs}
        element = Element(tag, attributes, tuple(one.tag for one in self.open))
        self.elements.append(element)
        if tag == "img":
            # A picture says its alternative text, also for the link round it.
            self.handle_data(element.get("alt"))
        if tag not in _VOID and tag not in _SHAPES:
            self.open.append(element)

    def handle_endtag(self, tag: str) -> None:
        places = [place for place, one in enumerate(self.open) if one.tag == tag]
        if places:
            del self.open[places[-1] :]

    def handle_data(self, data: str) -> None:
        for element in self.open:
            element.text += data

    def all(self, *tags: str) -> list[Element]:
        return [element for element in self.elements if element.tag in tags]


def page_faults(html: str, *, tokens: bool = True) -> list[str]:
    """Return what is wrong with a page, in sentences; nothing for a sound one.

    Without `tokens` it comes from an app whose forms carry none.
    """
    page = Page()
    page.feed(html)
    faults = [*_frame(page), *_ids(page), *_policy(page), *_names(page), *_forms(page)]
    return [*faults, *_tokens(page)] if tokens else faults


def _frame(page: Page) -> list[str]:
    faults = []
    if page.doctype != "doctype html":
        faults.append("the page does not begin with <!doctype html>")
    if [one.get("lang") for one in page.all("html")] != ["en"]:
        faults.append('<html> does not say lang="en"')
    titles = [one.text.strip() for one in page.all("title")]
    if len(titles) != 1 or not titles[0].split("|")[0].strip():
        faults.append(f"the page has not one title of its own: {titles}")
    headings = [one.text.strip() for one in page.all("h1")]
    if len(headings) != 1 or not headings[0]:
        faults.append(f"the page has not exactly one h1: {headings}")
    faults += [f"<{tag}> is missing or double" for tag in _LANDMARKS if len(page.all(tag)) != 1]
    levels = [int(one.tag[1]) for one in page.all("h1", "h2", "h3", "h4", "h5", "h6")]
    steps = pairwise(levels)
    faults += [f"h{upper} is followed by h{lower}" for upper, lower in steps if lower > upper + 1]
    return faults


def _ids(page: Page) -> list[str]:
    ids = Counter(one.get("id") for one in page.elements if "id" in one.attributes)
    faults = [f"id {name!r} is there {times} times" for name, times in ids.items() if times > 1]
    for one in page.elements:
        wanted = [
            *one.get("aria-describedby").split(),
            *one.get("aria-labelledby").split(),
            *([one.get("for")] if one.tag == "label" and one.get("for") else []),
            *([one.get("href")[1:]] if one.tag == "a" and one.get("href")[:1] == "#" else []),
        ]
        faults += [f"<{one.tag}> points to no id {name!r}" for name in wanted if name not in ids]
    return faults


def _policy(page: Page) -> list[str]:
    faults = []
    for one in page.elements:
        if "style" in one.attributes or one.tag == "style":
            faults.append(f"<{one.tag}> carries inline style")
        if one.tag == "script" and not one.get("src"):
            faults.append("a script stands inline")
        for name, value in one.attributes.items():
            if name.startswith("on"):
                faults.append(f"<{one.tag}> carries the inline handler {name}")
            if name in _ADDRESSES and _OUTSIDE.match(value):
                faults.append(f"<{one.tag}> leads outside: {value}")
            if name in _ADDRESSES and value.strip().lower().startswith("javascript:"):
                faults.append(f"<{one.tag}> carries script in its address")
    return faults


def _names(page: Page) -> list[str]:
    faults = []
    labelled = {one.get("for") for one in page.all("label") if one.text.strip()}
    for one in page.all("input", "select", "textarea"):
        named = one.get("id") in labelled or "label" in one.inside or _aria_name(one)
        if one.get("type") not in _UNLABELLED and not named:
            faults.append(f"<{one.tag} name={one.get('name')!r}> has no label")
    faults += [
        f"<{one.tag}> says nothing: {one.attributes}"
        for one in page.all("a", "button")
        if not one.text.strip() and not _aria_name(one)
    ]
    for one in page.all("svg", "img"):
        hidden = one.get("aria-hidden") == "true"
        if not hidden and not (_aria_name(one) or one.get("alt")):
            faults.append(f"<{one.tag}> says nothing and is not hidden")
    faults += ["a table header says nothing" for one in page.all("th") if not one.text.strip()]
    return faults


def _forms(page: Page) -> list[str]:
    faults = []
    for one in page.all("form"):
        if "form" in one.inside:
            faults.append("a form stands inside a form")
        if one.get("method").lower() not in {"get", "post"}:
            faults.append(f"a form says no method: {one.attributes}")
    return faults


def _tokens(page: Page) -> list[str]:
    """A form that posts carries a token, unless it says that it only shows a page again."""
    tokens = [one for one in page.all("input") if one.get("name") == "csrf_token"]
    posts = [
        one
        for one in page.all("form")
        if one.get("method").lower() == "post" and "data-shows-again" not in one.attributes
    ]
    if len(tokens) == len(posts):
        return []
    return [f"{len(posts)} forms post, {len(tokens)} tokens stand in them"]


def _aria_name(element: Element) -> bool:
    return bool(element.get("aria-label").strip() or element.get("aria-labelledby"))


class CheckingClient(FlaskClient):
    """A test client that holds every HTML page it is answered with against the rules above."""

    def open(self, *args: Any, **kwargs: Any) -> TestResponse:
        answer = super().open(*args, **kwargs)
        if answer.mimetype == "text/html" and not 300 <= answer.status_code < 400:
            guarded = self.application.config["WTF_CSRF_ENABLED"]
            faults = page_faults(answer.get_data(as_text=True), tokens=guarded)
            assert not faults, f"{answer.request.path}: " + "; ".join(faults)
        return answer
