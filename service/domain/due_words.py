"""When something falls due, in words, for whatever shows or sends it."""

from datetime import date

from service.domain.standing import Due
from service.domain.wording import day_words


def until_words(due: Due, today: date) -> str:
    """When an interval ends: " By 3 May.", or the likely days where it goes by distance; wear says it itself."""
    if due.by_wear or due.on is None:
        return ""
    early, late = day_words(due.on.early, today), due.on.late
    if due.on.early == late:
        return f" {'By' if due.on.middle >= today else 'Fell due on'} {early}."
    return f" Likely {early} or later." if late is None else f" Likely between {early} and {day_words(late, today)}."
