"""What is wrong in the procedures: each mistake with its file, its line and what would be right."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path

from service.errors import Refusal


@dataclass(frozen=True, slots=True, order=True)
class Mistake:
    """One mistake at one line; a warning is worth a look but stops nothing."""

    file: Path
    line: int
    what: str
    warning: bool = field(default=False, compare=False)

    def shown(self, beside: Path | None = None) -> str:
        """`file:line: what`, the file named from the folder `beside` where it lies in it."""
        name = self.file
        if beside is not None and name.is_relative_to(beside):
            name = name.relative_to(beside)
        return _on_one_line(f"{name}:{self.line}: {'warning: ' if self.warning else ''}{self.what}")


def _on_one_line(text: str) -> str:
    """What a terminal would obey or could not write, as an escape."""
    return "".join(letter if letter.isprintable() else repr(letter)[1:-1] for letter in text)


class LibraryMistakes(Refusal):
    """The procedures cannot be used; every mistake is listed, none is left for the next try."""

    status, code, title = 500, "library-mistakes", "The procedures have mistakes"

    def __init__(self, mistakes: Iterable[Mistake]) -> None:
        self.mistakes = tuple(sorted(mistakes))
        lines = "\n".join(mistake.shown() for mistake in self.mistakes)
        super().__init__(f"The procedures have {len(self.mistakes)} mistakes:\n{lines}")
