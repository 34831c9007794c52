"""Why an item is in its group before a tour, in words: what is known, what the tour adds, how likely it falls due."""

from service.domain.standing import Due

ALIKE = 0.05
"""A tour that counts for no more than so much beside its own kilometres needs no words for it."""


def why_of(
    due: Due, group: str, chances: tuple[float | None, float | None], *, counts_metres: float | None, metres: float
) -> str:
    """What was done or read and when, the limit; then what the tour adds, and how likely it falls due."""
    said = [due.why.strip()]
    if due.state == "do not ride":
        return f"{said[0]} Nothing else matters before this."
    if due.by_wear and due.last is None and group == "look before":
        said.append("Nothing was read yet, so only common practice speaks: read it first, then ask again.")
    before, by_end = chances
    if by_end is None or due.state == "switched off":
        said.append(_unsaid(due, group))
        return " ".join(each for each in said if each)
    said.append(_adds(counts_metres, metres))
    said.append(_likely(before or 0.0, by_end, due))
    return " ".join(each for each in said if each)


def _unsaid(due: Due, group: str) -> str:
    if due.state == "switched off":
        return "It is not followed, so the tour says nothing of it: look yourself." if due.weight == "safety" else ""
    if group != "cannot be said":
        return ""
    if due.state == "resting":
        return "Wake the bicycle first; then it can be said."
    return due.refused if due.refused and due.refused not in due.why else ""


def _adds(counts: float | None, metres: float) -> str:
    if counts is None or abs(counts - metres) <= ALIKE * metres:
        return ""
    return f"The {kilometres(metres)} of the tour count as {kilometres(counts)} for it."


def _likely(before: float, by_end: float, due: Due) -> str:
    if due.state in ("due", "overdue"):
        return ""
    what = "at its limit" if due.by_wear else "due"
    if before >= 0.5:
        return f"It is {chance_words(before)} {what} before you leave."
    return f"It is {chance_words(by_end)} {what} by the end of the tour."


def chance_words(chance: float) -> str:
    """A chance in words: they stand between "is" and what may be."""
    steps = (
        (0.95, "almost surely"),
        (0.75, "very likely"),
        (0.5, "likely"),
        (0.2, "quite possibly"),
        (0.03, "possibly"),
    )
    return next((words for least, words in steps if chance >= least), "hardly")


def kilometres(metres: float) -> str:
    """Rounded as one would say it: "1 200 km"."""
    km = metres / 1000
    step = 10 if km < 1000 else 50
    return f"{round(km / step) * step:,} km".replace(",", " ") if km >= 100 else f"{km:.0f} km"
