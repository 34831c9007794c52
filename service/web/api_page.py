"""The page of the API, made from the OpenAPI document; it asks no other host."""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any, NamedTuple

from fastapi import FastAPI, Request
from starlette.responses import Response

from service.context import Who, signed_in_router
from service.web.pages import render

router = signed_in_router(include_in_schema=False)
METHODS = ("get", "post", "put", "patch", "delete")
Schema = Mapping[str, Any]


class Asked(NamedTuple):
    """A parameter, or a field of a body."""

    name: str
    kind: str
    need: bool
    say: str
    where: str = ""


class Operation(NamedTuple):
    """One operation as the page shows it."""

    id: str
    method: str
    path: str
    summary: str
    say: str
    parameters: list[Asked]
    body: list[Asked]
    answers: list[tuple[str, str]]


@router.get("/api")
def show_api(request: Request, who: Who) -> Response:
    """Every operation, by what it is about."""
    app: FastAPI = request.app
    document = app.openapi()
    groups: dict[str, list[Operation]] = {}
    for tag, operation in _operations(document):
        groups.setdefault(tag, []).append(operation)
    return render("api.html", groups=groups, version=document["info"]["version"])


def _operations(document: Schema) -> Iterator[tuple[str, Operation]]:
    schemas = document["components"]["schemas"]
    for path, methods in document["paths"].items():
        for method in METHODS:
            found = methods.get(method)
            if found is not None:
                yield (
                    found.get("tags", ["other"])[0],
                    Operation(
                        found["operationId"],
                        method.upper(),
                        path,
                        found.get("summary", ""),
                        found.get("description", ""),
                        [_parameter(each) for each in found.get("parameters", ())],
                        list(_body(found, schemas)),
                        [(status, each["description"]) for status, each in found["responses"].items()],
                    ),
                )


def _parameter(found: Schema) -> Asked:
    schema = found.get("schema", {})
    return Asked(found["name"], _kind(schema), found.get("required", False), found.get("description", ""), found["in"])


def _body(operation: Schema, schemas: Schema) -> Iterator[Asked]:
    content: Mapping[str, Any] = operation.get("requestBody", {}).get("content", {})
    for media in content.values():
        model = schemas.get(_name(media.get("schema", {})), {})
        for name, field in model.get("properties", {}).items():
            yield Asked(name, _kind(field), name in model.get("required", ()), field.get("description", ""))
        return


def _name(schema: Schema) -> str:
    return str(schema.get("$ref", "")).rpartition("/")[2]


def _kind(schema: Schema) -> str:
    if "$ref" in schema:
        return _name(schema)
    if "enum" in schema:
        return _listed(schema["enum"])
    if "const" in schema:
        return repr(schema["const"])
    if "anyOf" in schema:
        return " or ".join(_kind(each) for each in schema["anyOf"])
    kind = str(schema.get("format") or schema.get("type", "anything"))
    return f"list of {_kind(schema['items'])}" if kind == "array" and "items" in schema else kind


def _listed(words: Iterable[Any]) -> str:
    return ", ".join(str(word) for word in words)
