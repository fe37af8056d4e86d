"""The description of an archive, held against the rules of its standard.

"Data Package" and "Table Schema", version 2.0, of the Data Package Working Group, read at
datapackage.org: names, types and constraints, keys within the fields, a reference to another sheet
by its name and to the same one without, missing values as unique strings. Confirmed against the
published text of Table Schema; what is asked of a package is from memory.
"""

import csv
import io
import json
import re
import zipfile
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest

from app.services.archives import write_archive
from app.settings import Settings
from tests.migrations.rows import fill

TYPES = {
    "string", "number", "integer", "boolean", "object", "array", "date", "datetime", "any",
}  # fmt: skip
CONSTRAINTS = {"required", "unique", "enum"}


@pytest.fixture(scope="module")
def archive(migrated_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("archive")
    (folder / "strikewell.db").write_bytes(migrated_file.read_bytes())
    fill(folder / "strikewell.db")
    write_archive(Settings(data=folder, secret_key="0"), file=folder / "a.zip")
    return folder / "a.zip"


@pytest.fixture(scope="module")
def package(archive: Path) -> dict[str, Any]:
    with zipfile.ZipFile(archive) as zipped:
        return dict(json.loads(zipped.read("datapackage.json")))


@pytest.fixture(scope="module")
def resources(package: dict[str, Any]) -> dict[str, dict[str, Any]]:
    return {resource["name"]: resource for resource in package["resources"]}


def test_the_package_names_itself_and_its_profile(package: dict[str, Any]) -> None:
    assert package["$schema"] == "https://datapackage.org/profiles/2.0/datapackage.json"
    assert re.fullmatch(r"[-a-z0-9._/]+", package["name"])
    assert len({resource["name"] for resource in package["resources"]}) == len(package["resources"])


def test_every_sheet_is_what_is_said_of_it(
    archive: Path, resources: dict[str, dict[str, Any]]
) -> None:
    with zipfile.ZipFile(archive) as zipped:
        for resource in resources.values():
            content = zipped.read(resource["path"])
            assert resource["type"] == "table"
            assert resource["bytes"] == len(content)
            assert resource["hash"] == f"sha256:{sha256(content).hexdigest()}"
            lines = list(csv.reader(io.StringIO(content.decode(resource["encoding"]), newline="")))
            assert lines[0] == [field["name"] for field in resource["schema"]["fields"]]
            assert len(lines) - 1 == resource["rows"]


def test_every_field_has_a_type_words_and_known_constraints(
    resources: dict[str, dict[str, Any]],
) -> None:
    for name, resource in resources.items():
        assert resource["description"], name
        names = [field["name"] for field in resource["schema"]["fields"]]
        assert len(set(names)) == len(names)
        for field in resource["schema"]["fields"]:
            assert field["type"] in TYPES
            assert field["description"], (name, field["name"])
            assert set(field.get("constraints", {})) <= CONSTRAINTS
    assert {field["type"] for field in _fields(resources, "batches")} >= {"array", "datetime"}
    role = next(field for field in _fields(resources, "accounts") if field["name"] == "role")
    assert role["constraints"] == {"required": True, "enum": ["trainee", "head", "manager"]}
    payload = next(field for field in _fields(resources, "fits") if field["name"] == "payload")
    assert (payload["type"], payload["format"]) == ("string", "binary")


def test_keys_are_fields_and_references_lead_to_keys(
    resources: dict[str, dict[str, Any]],
) -> None:
    for name, resource in resources.items():
        schema = resource["schema"]
        names = {field["name"] for field in schema["fields"]}
        assert schema["missingValues"] == ["\\N"]
        assert set(schema["primaryKey"]) <= names
        assert all(set(columns) <= names for columns in schema.get("uniqueKeys", [[]]))
        for reference in schema.get("foreignKeys", []):
            assert set(reference["fields"]) <= names
            assert reference["reference"].get("resource") != name
            target = resources[reference["reference"].get("resource", name)]
            assert reference["reference"]["fields"] == target["schema"]["primaryKey"]


def test_required_and_listed_values_hold_in_the_sheets(
    archive: Path, resources: dict[str, dict[str, Any]]
) -> None:
    with zipfile.ZipFile(archive) as zipped:
        for resource in resources.values():
            text = io.StringIO(zipped.read(resource["path"]).decode(), newline="")
            for row in csv.DictReader(text):
                for field in resource["schema"]["fields"]:
                    limits = field.get("constraints", {})
                    assert not limits.get("required") or row[field["name"]] != "\\N"
                    if field["type"] == "string" and row[field["name"]] != "\\N":
                        assert row[field["name"]] in limits.get("enum", [row[field["name"]]])


def _fields(resources: dict[str, dict[str, Any]], name: str) -> list[dict[str, Any]]:
    return list(resources[name]["schema"]["fields"])
