"""The API of the bench: torque wrenches and tools."""

from uuid import UUID

from fastapi import Response

from service.api.queries import check_queries
from service.context import Db, Library, Who, signed_in_router, tag_row
from service.errors import Conflict, Gone, NotFound, Refusal
from service.records import bench
from service.schemas.bench import ToolPage, ToolShown, WrenchPage, WrenchSent, WrenchShown
from service.schemas.problems import refusals

router = signed_in_router(check_queries, prefix="/api/v1", tags=["bench"])


@router.get("/wrenches", summary="List torque wrenches")
def list_wrenches(db: Db, who: Who) -> WrenchPage:
    """Smallest first."""
    with db.reading() as session:
        rows = bench.list_wrenches(session, who)
        return WrenchPage(items=[WrenchShown.model_validate(row) for row in rows], next=None)


@router.post("/wrenches", status_code=201, summary="Store a torque wrench", responses=refusals(Refusal, Conflict, Gone))
def add_wrench(sent: WrenchSent, response: Response, db: Db, who: Who) -> WrenchShown:
    """Its range decides which joints it may tighten."""
    with db.writing() as session:
        row, new = bench.add_wrench(session, who, sent)
        response.status_code = 201 if new else 200
        tag_row(response, row.version)
        return WrenchShown.model_validate(row)


@router.get("/wrenches/{wrench_id}", summary="Read a torque wrench", responses=refusals(NotFound))
def get_wrench(wrench_id: UUID, response: Response, db: Db, who: Who) -> WrenchShown:
    """A torque wrench."""
    with db.reading() as session:
        row = bench.get_wrench(session, who, wrench_id)
        tag_row(response, row.version)
        return WrenchShown.model_validate(row)


@router.get("/tools", summary="List tools")
def list_tools(db: Db, who: Who, library: Library) -> ToolPage:
    """Every tool that a step may ask for, and whether it is on the bench."""
    with db.reading() as session:
        owned = bench.owned_tools(session, who)
        items = [
            ToolShown(tool=tool, title=title, owned=tool in owned) for tool, title in bench.known_tools(library).items()
        ]
        return ToolPage(items=items, next=None)


@router.put("/tools/{tool}", status_code=204, summary="Put a tool on the bench", responses=refusals(Refusal))
def own_tool(tool: str, db: Db, who: Who, library: Library) -> None:
    """Owning it decides what is home and what is shop; twice is once."""
    with db.writing() as session:
        bench.own_tool(session, who, tool, library)


@router.delete("/tools/{tool}", status_code=204, summary="Take a tool off the bench", responses=refusals(NotFound))
def remove_tool(tool: str, db: Db, who: Who) -> None:
    """Steps that need it may be shop work again."""
    with db.writing() as session:
        bench.give_tool_away(session, who, tool)
