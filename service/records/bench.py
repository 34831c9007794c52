"""The workshop's torque wrenches and tools."""

from collections.abc import Sequence
from uuid import UUID

from sqlalchemy import select
from sqlmodel import Session, col

from service.domain.procedure import Library
from service.errors import NotFound, Refusal
from service.ids import new_id
from service.records.once import store_once
from service.records.people import Who
from service.schemas.bench import WrenchSent
from service.tables import OwnedTool, Wrench


def add_wrench(session: Session, who: Who, sent: WrenchSent) -> tuple[Wrench, bool]:
    """Stores a torque wrench, N·m; answers it and whether it is new. Raises Refusal where low is not below high."""
    who.check_may("work")
    if sent.low_nm >= sent.high_nm:
        raise Refusal(
            f"A wrench goes from a lower to a higher setting, not from {sent.low_nm:g} to {sent.high_nm:g} N·m.",
            errors=[("/high_nm", f"should be above {sent.low_nm:g}")],
        )
    return store_once(
        session, Wrench(**sent.model_dump(exclude={"id"}), id=sent.id or new_id(), workshop_id=who.workshop_id)
    )


def list_wrenches(session: Session, who: Who) -> Sequence[Wrench]:
    """The torque wrenches, smallest first."""
    mine = select(Wrench).where(col(Wrench.workshop_id) == who.workshop_id)
    return session.execute(mine.order_by(col(Wrench.low_nm), col(Wrench.id))).scalars().all()


def owned_tools(session: Session, who: Who) -> set[str]:
    """The tools on the bench, as "id" or "id:size"."""
    return set(
        session.execute(select(col(OwnedTool.tool)).where(col(OwnedTool.workshop_id) == who.workshop_id)).scalars()
    )


def known_tools(library: Library) -> dict[str, str]:
    """Every tool that a step may ask for, as "id" or "id:size", with its title."""
    known: dict[str, str] = {}
    for name, tool in library.tools.items():
        if tool.sizes:
            known.update({f"{name}:{size}": f"{tool.title} {size}" for size in tool.sizes})
        else:
            known[name] = tool.title
    return known


def own_tool(session: Session, who: Who, tool: str, library: Library) -> None:
    """Puts a tool on the bench; twice is once. Raises Refusal for one that no step asks for."""
    who.check_may("work")
    if tool not in known_tools(library):
        sizes = library.tools[tool].sizes if tool in library.tools else ()
        with_size = f"; give its size, such as {tool}:{sizes[0]}" if sizes else ""
        raise Refusal(f"There is no tool {tool}{with_size}.", errors=[("/tool", "should be one of GET /tools")])
    if session.get(OwnedTool, (who.workshop_id, tool)) is None:
        session.add(OwnedTool(workshop_id=who.workshop_id, tool=tool))
        session.flush()


def give_tool_away(session: Session, who: Who, tool: str) -> None:
    """Takes a tool off the bench. Raises NotFound where it is not on it."""
    who.check_may("work")
    row = session.get(OwnedTool, (who.workshop_id, tool))
    if row is None:
        raise NotFound("tool on the bench called", tool)
    session.delete(row)
    session.flush()


def get_wrench(session: Session, who: Who, wrench_id: UUID) -> Wrench:
    """A torque wrench of this workshop. Raises NotFound for any other."""
    row = session.get(Wrench, wrench_id)
    if row is None or row.workshop_id != who.workshop_id:
        raise NotFound("wrench", wrench_id)
    return row
