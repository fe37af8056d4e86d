"""Every error of a form in the order of its fields, for the summary on top and for a device."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from markupsafe import Markup
from wtforms import Field
from wtforms.fields import SelectFieldBase
from wtforms.form import BaseForm
from wtforms.widgets import ListWidget


@dataclass(frozen=True, kw_only=True)
class ErrorLine:
    """One sentence of the error summary; the id of the input it leads to, and its label."""

    target: str
    sentence: str
    label: str = ""


def error_lines(form: BaseForm) -> tuple[ErrorLine, ...]:
    """Return every error of the form in the order of its fields, those of the whole form first.

    A sentence said of several fields names each.
    """
    whole = getattr(form, "form_errors", ())
    lines = [ErrorLine(target="", sentence=str(sentence)) for sentence in whole]
    for field in form:
        lines.extend(_field_lines(field))
    times = Counter(line.sentence for line in lines)
    return tuple(
        replace(line, sentence=f"{line.label}: {line.sentence}")
        if line.label and times[line.sentence] > 1
        else line
        for line in lines
    )


def is_choice(field: Field) -> bool:
    """Return whether the field is drawn as a list of options, each an input of its own."""
    return isinstance(field, SelectFieldBase) and isinstance(field.widget, ListWidget)


def _field_lines(field: Any) -> Iterator[ErrorLine]:
    nested: Sequence[Any] = getattr(field, "entries", None) or getattr(field, "form", None) or ()
    if nested:
        for inner in nested:
            yield from _field_lines(inner)
        return
    target = f"{field.id}-0" if is_choice(field) else field.id
    for sentence in field.errors:
        hidden = field.type in {"HiddenField", "CSRFTokenField"}
        text = field.label.text
        label = text.striptags() if isinstance(text, Markup) else text
        yield ErrorLine(
            target="" if hidden else target,
            sentence=str(sentence),
            label="" if hidden else label,
        )
