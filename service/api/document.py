"""The OpenAPI document: FastAPI's, with the refusals that any operation may answer and the shape of all of them."""

from typing import Any

from fastapi import FastAPI, Request

from service.api.examples import BODIES, OTHER_PATHS, PATHS, QUERIES
from service.api.queries import check_queries
from service.context import signed_in_router
from service.errors import Busy, CrossSite, Full, Malformed, MediaUnknown, NotSignedIn, OurMistake, TooLarge, WrongHost
from service.schemas.problems import FaultShown, Problem, refusals

router = signed_in_router(check_queries, prefix="/api/v1", include_in_schema=False)

ANY = refusals(NotSignedIn, WrongHost, OurMistake, Busy)
CHANGES = refusals(CrossSite, Full)
SENT = refusals(TooLarge, MediaUnknown, Malformed)
FIELDS = refusals(Malformed)
ETAG = {"description": "The version, as If-Match and If-None-Match take it.", "schema": {"type": "string"}}
LINK = {"description": 'The next page, `rel="next"` (RFC 8288); left out on the last.', "schema": {"type": "string"}}
EXTENSIONS = {
    "errors": {"type": "array", "items": {"$ref": "#/components/schemas/FaultShown"}, "description": "Wrong fields."},
    "current": {"type": "object", "description": "What is stored now, where the request came from an older state."},
    "confirm": {"type": "string", "description": "The field to send as true, to say that it is meant."},
}


@router.get("/openapi.json")
def get_document(request: Request) -> dict[str, Any]:
    """The description of this API, OpenAPI 3.1."""
    app: FastAPI = request.app
    return app.openapi()


def complete(document: dict[str, Any]) -> dict[str, Any]:
    """Adds what holds for every operation: how one signs in, and the problems that can always be answered."""
    schemas = document.setdefault("components", {}).setdefault("schemas", {})
    for model in (FaultShown, Problem):
        schemas[model.__name__] = model.model_json_schema(ref_template="#/components/schemas/{model}")
    schemas["Problem"]["properties"] |= EXTENSIONS
    for unused in ("HTTPValidationError", "ValidationError"):
        schemas.pop(unused, None)
    document["components"]["securitySchemes"] = {
        "token": {"type": "http", "scheme": "bearer", "description": "What `locknut person token` prints."}
    }
    document["security"] = [{"token": []}]
    for operations in document["paths"].values():
        for method, operation in operations.items():
            _add_problems(method, operation)
            _describe_parameters(operation)
            _add_example(operation)
            _add_retry_and_headers(operation)
    return document


def _describe_parameters(operation: dict[str, Any]) -> None:
    """Names in an address get their meaning and an example; what may be left out is not null for that."""
    others = OTHER_PATHS.get(operation["operationId"], {})
    for parameter in operation.get("parameters", ()):
        schema, name = parameter["schema"], parameter["name"]
        kinds = [each for each in schema.pop("anyOf", ()) if each != {"type": "null"}]
        if kinds:
            schema.update(kinds[0])
        if parameter["in"] == "path":
            parameter["description"], parameter["example"] = PATHS[name][0], others.get(name, PATHS[name][1])
        elif parameter["in"] == "header":
            parameter |= {"name": "If-Match", "required": True, "example": '"57"'}
        elif name in (query := QUERIES.get(operation["operationId"], {})):
            parameter["example"] = query[name]


def _add_example(operation: dict[str, Any]) -> None:
    for content in operation.get("requestBody", {}).get("content", {}).values():
        content["example"] = BODIES[operation["operationId"]]


def _add_retry_and_headers(operation: dict[str, Any]) -> None:
    answers = operation["responses"]
    names = {parameter["name"] for parameter in operation.get("parameters", ())}
    if "410" in answers and "201" in answers:
        answers["200"] = answers["201"] | {"description": "The same was stored before; nothing was changed"}
    headers = {"ETag": ETAG} if "304" in answers or "If-Match" in names else {}
    headers |= {"Link": LINK} if "cursor" in names else {}
    for status in ("200", "201", "304"):
        if headers and status in answers:
            answers[status] = answers[status] | {"headers": headers}
    operation["responses"] = dict(sorted(answers.items()))


def _add_problems(method: str, operation: dict[str, Any]) -> None:
    answers = operation["responses"]
    always = dict(ANY)
    if method != "get":
        always |= CHANGES
    if "requestBody" in operation:
        always |= SENT
    elif "422" in answers:
        always |= FIELDS
    for status, answer in always.items():
        key = str(status)
        own = answers.get(key, {}).get("description") if "problem" in str(answers.get(key, "")) else None
        told = answer["description"]
        answers[key] = answer | {"description": f"{own}; {told}" if own and told not in own else own or told}
    operation["responses"] = dict(sorted(answers.items()))
