"""The parts bin: parts by category, looked up by a fact."""

from itertools import groupby
from uuid import UUID

from fastapi import APIRouter
from starlette.responses import Response

from service.context import Db, Library, Who
from service.domain.facts import category_of
from service.errors import Malformed
from service.ids import parse_id
from service.records import parts
from service.schemas.parts import PartLine
from service.web.fit import fittable
from service.web.forms import NOTHING_WRONG, Typed
from service.web.pages import render

router = APIRouter(include_in_schema=False)
AT_ONCE = 100
LINE = ("id", "category", "name", "tag", "origin", "state", "on_build", "version")


@router.get("/parts")
def show_parts(
    db: Db, who: Who, library: Library,
    category: str = "", which: str = "", field: str = "", worth: str = "", after: str = "",
) -> Response:  # fmt: skip
    """The parts that match."""
    kind = category_of(library, category) if category else None
    fields = [(spec.key, spec.title) for spec in kind.specs] if kind is not None else []
    in_bin = {"": True, "fitted": False}.get(which)
    known = dict(fields)
    with db.reading() as session:
        rows = parts.list_parts(
            session,
            who,
            category=category or None,
            in_bin=in_bin,
            facts={field: worth.strip()} if field in known and worth.strip() else None,
            after=_key(after),
            limit=AT_ONCE + 1,
        )
    lines = [PartLine(**dict(zip(LINE, row, strict=True))) for row in rows[:AT_ONCE]]
    if which != "all":
        lines = [line for line in lines if line.state != "gone"]
    last = rows[AT_ONCE - 1] if len(rows) > AT_ONCE else None
    return render(
        "parts.html",
        groups=[(slot, list(each)) for slot, each in groupby(lines, key=lambda line: line.category)],
        categories=[(each.category, each.title) for each in fittable(library)],
        fields=fields,
        further=f"category={category}&which={which}&after={last[1]}~{last[0]}" if last else None,
        typed=Typed.of({"category": category, "which": which, "field": field, "worth": worth}),
        wrong=NOTHING_WRONG,
        library=library,
    )


def _key(after: str) -> tuple[str, UUID] | None:
    if not after:
        return None
    category, _, part_id = after.partition("~")
    found = parse_id(part_id)
    if found is None:
        raise Malformed("This address of further parts cannot be read; start again from the first page.")
    return category, found
