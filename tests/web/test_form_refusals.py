"""A refusal stands beside the field it names, wherever in the form that is."""

from io import BytesIO

import pytest
from flask import Flask, Response
from flask.testing import FlaskClient
from flask_wtf.file import FileField
from wtforms import FieldList, Form, FormField, StringField

from app.domain.problems import NotAccepted, Problem
from app.web.forms.base import PostForm
from app.web.permissions import allow_anyone
from app.web.requests import status_of, submit
from app.web.results import Saved


class _PartForm(Form):
    amount = StringField()


class _MixForm(PostForm):
    name = StringField()
    parts = FieldList(FormField(_PartForm), min_entries=2)
    tags = FieldList(StringField(), min_entries=1)


class _SheetForm(PostForm):
    sheet = FileField()


@pytest.mark.parametrize("field", ["name", "parts-1-amount", "tags-0"])
def test_a_sentence_finds_its_field(app: Flask, field: str) -> None:
    with app.test_request_context():
        form = _MixForm()
        form.refuse("Type it again.", field=field)
        form.refuse("And once more.", field=field)
        found = {"name": form.name, "parts-1-amount": form.parts[1].form.amount}
        assert found.get(field, form.tags[0]).errors == ["Type it again.", "And once more."]
        assert form.form_errors == []


@pytest.mark.parametrize("field", ["", "colour"])
def test_a_sentence_without_a_field_stands_on_top(app: Flask, field: str) -> None:
    with app.test_request_context():
        form = _MixForm()
        form.refuse_all(NotAccepted((Problem(field=field, sentence="It does not add up."),)))
        assert form.form_errors == ["It does not add up."]
        assert status_of(form) == 422


def test_a_file_counts_as_content_of_the_form(app: Flask, client: FlaskClient) -> None:
    read: list[bytes] = []

    @allow_anyone
    def take() -> tuple[Response | dict[str, object], int]:
        form = _SheetForm()

        def store(_session: object) -> Saved:
            read.append(form.sheet.data.read())
            return Saved(location="/", message="The sheet was read.")

        answer = submit(form, store)
        return answer or {"errors": form.form_errors}, status_of(form)

    app.add_url_rule("/take", "take", take, methods=["POST"])

    def send(content: bytes) -> int:
        typed = {"post_key": "k" * 24, "sheet": (BytesIO(content), "a.csv")}
        return client.post("/take", data=typed).status_code

    assert [send(b"one"), send(b"one"), send(b"two")] == [303, 303, 422]
    assert read == [b"one"]
