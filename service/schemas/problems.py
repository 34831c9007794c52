"""The problem document (RFC 9457) as the API's description shows it, and which refusals an operation may answer."""

from typing import Any

from pydantic import Field

from service.errors import Refusal
from service.schemas.fields import Shown

PROBLEM_MEDIA = "application/problem+json"
UNCHANGED: dict[int | str, dict[str, Any]] = {304: {"description": "Nothing has changed since If-None-Match."}}


class FaultShown(Shown):
    """One wrong place in what was sent."""

    pointer: str = Field(description="JSON pointer (RFC 6901) into the body; with `in`, into that part of the request.")
    detail: str = Field(description="What is wrong there, or what would be right.")


class Problem(Shown):
    """Why something was refused; further members may follow: `errors`, `current`, `confirm`."""

    type: str = Field(description="Address of a page about this kind of problem.", examples=["/problems/not-found"])
    title: str = Field(description="The kind of problem in words, the same each time.", examples=["Not found"])
    status: int = Field(description="The status of the answer.", examples=[404])
    detail: str = Field(description="What is wrong this time, and what would be right.")
    instance: str = Field(description="This request, as the journal and the log name it.")


def refusals(*kinds: type[Refusal]) -> dict[int | str, dict[str, Any]]:
    """What goes into `responses=` of an operation that may refuse so."""
    found: dict[int | str, dict[str, Any]] = {}
    for kind in kinds:
        told = found.get(kind.status, {}).get("description")
        found[kind.status] = {
            "description": f"{told}; {told_of(kind)}" if told else told_of(kind),
            "content": {PROBLEM_MEDIA: {"schema": {"$ref": "#/components/schemas/Problem"}}},
        }
    return found


def told_of(kind: type[Refusal]) -> str:
    """One line about a kind of refusal: its title and the address of its page."""
    return f"{kind.title} (/problems/{kind.code})"
