"""Whose a figure is: the library's, on the basis it names, or one from a person's own folder."""

from service.domain.procedure import Library, Step

OWN = "your own figure"


def is_own(library: Library, category: str, table: str, key: str) -> bool:
    """Does this entry of a category's table come from a person's own folder?"""
    return f"{category}.{table}.{key}" in library.own_figures


def step_basis(library: Library, category: str, step: Step, basis: str | None, *, look: bool) -> str | None:
    """The basis that a step, or a record of it, names; of an own one, that it is one's own. `look`: at a used part."""
    return OWN if is_own(library, category, "used" if look else "steps", step.key) else basis
