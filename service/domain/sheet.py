"""A sheet of text: named columns and lines of cells, as it stands in a file of comma-separated values."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

DELIMITERS = {"comma": ",", "semicolon": ";", "tab": "\t"}


class Line(NamedTuple):
    """A record: the number of the line in the file where it begins, and its cells."""

    number: int
    cells: list[str]


@dataclass(frozen=True, slots=True)
class Sheet:
    """The whole."""

    names: tuple[str, ...]
    lines: Sequence[Line]
    delimiter: str

    def cells(self, name: str) -> list[str]:
        """Every cell of a column that is not empty."""
        at = self.names.index(name)
        return [text for line in self.lines if len(line.cells) > at and (text := line.cells[at].strip())]


class RowProblem(NamedTuple):
    """What is wrong with a line, in which column ("" is the whole), and what would be right."""

    line: int
    column: str
    say: str
