"""The schemas that are shipped, read by jsonschema (JSON Schema 2020-12), with what they refer to beside them."""

from __future__ import annotations

import json
from importlib.resources import files
from typing import Any

from jsonschema import Draft202012Validator
from referencing import Registry, Resource
from referencing.jsonschema import DRAFT202012

ENDING = ".schema.json"
SCHEMAS: dict[str, dict[str, Any]] = {
    each.name.removesuffix(ENDING): json.loads(each.read_text(encoding="utf-8"))
    for each in (files("circuitcheck.report") / "schemas").iterdir()
}


def strict(schema: Any) -> Any:
    """A schema that takes no keys but those it names: what is written is described in full."""
    if isinstance(schema, dict):
        closed = {key: strict(value) for key, value in schema.items()}
        return {**closed, "additionalProperties": False} if isinstance(schema.get("properties"), dict) else closed
    return [strict(each) for each in schema] if isinstance(schema, list) else schema


def _registry(closed: bool) -> Registry[Any]:
    resources = [
        (name + ENDING, Resource.from_contents(strict(each) if closed else each, DRAFT202012))
        for name, each in SCHEMAS.items()
    ]
    return Registry().with_resources(resources)


def faults(name: str, data: Any, closed: bool = True) -> list[str]:
    """What the schema of a command finds wrong with data; `closed`, keys that it doesn't name as well."""
    validator = Draft202012Validator({"$ref": name + ENDING}, registry=_registry(closed))
    return [each.message for each in validator.iter_errors(data)]
