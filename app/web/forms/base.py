"""What every form that writes carries: a key that makes it count once, and a version."""

import re
import secrets
from collections.abc import Iterator
from typing import Final

from flask_wtf import FlaskForm
from wtforms import Field, FieldList, HiddenField, IntegerField
from wtforms.form import BaseForm
from wtforms.validators import InputRequired, Regexp
from wtforms.widgets import HiddenInput

from app.domain.problems import NotAccepted

_KEY_BYTES: Final = 18
_KEY: Final = re.compile(r"[A-Za-z0-9_-]{16,64}")
_RELOAD: Final = "This page was not complete. Open it again and type it once more."


def new_post_key() -> str:
    """Return a fresh random key for one sending of one form."""
    return secrets.token_urlsafe(_KEY_BYTES)


class PostForm(FlaskForm):
    """A form whose sending is stored once, however often it arrives."""

    post_key = HiddenField(
        default=new_post_key,
        validators=[Regexp(re.compile(f"^{_KEY.pattern}$"), message=_RELOAD)],
    )

    def refuse(self, sentence: str, *, field: str = "") -> None:
        """Put a sentence beside the field of that name, or on top where there is no such field."""
        found = _field_named(self, field) if field else None
        if found is None:
            self.form_errors.append(sentence)
            return
        found.errors = [*found.errors, sentence]
        for outer in self:
            if isinstance(outer, FieldList) and found.name.startswith(f"{outer.name}-"):
                # A list does not ask its lines for their errors again.
                outer.errors = [*outer.errors, sentence]

    def refuse_all(self, refusal: NotAccepted) -> None:
        """Put each sentence of a refusal in its place."""
        for problem in refusal.problems:
            self.refuse(problem.sentence, field=problem.field)


class VersionedForm(PostForm):
    """A form that edits a stored record, and says which version of it was on the screen."""

    version = IntegerField(
        widget=HiddenInput(), validators=[InputRequired(message=_RELOAD)], default=1
    )


def _field_named(form: BaseForm, name: str) -> Field | None:
    """Return the field of this name, also one inside a list or a part of the form."""
    for field in _all_fields(form):
        if name in {field.short_name, field.name}:
            return field
    return None


def _all_fields(form: BaseForm) -> Iterator[Field]:
    for field in form:
        yield field
        for inner in (field, *getattr(field, "entries", ())):
            if inner is not field:
                yield inner
            if isinstance(getattr(inner, "form", None), BaseForm):
                yield from _all_fields(inner.form)
