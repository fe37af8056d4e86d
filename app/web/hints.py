"""What stands below the label of a field: how to type it, and what is usual there."""

from collections.abc import Mapping

from wtforms.form import BaseForm


def hint_texts(form: BaseForm, *, usual: Mapping[str, str]) -> dict[str, str]:
    """Return the hint of each field by its name: its description, then what is usual, if any."""
    return {
        field.short_name: f"{field.description} {usual.get(field.short_name, '')}".strip()
        for field in form
    }
