"""Comma-separated files: bytes in, the names of the columns and the lines out; what they mean is decided elsewhere."""

import codecs
import csv
from collections.abc import Iterator
from io import StringIO
from itertools import islice

from service.domain.sheet import DELIMITERS, Line, Sheet
from service.errors import Refusal, TooLarge

LARGEST_BYTES = 10_000_000
MOST_ROWS = 100_000
MOST_COLUMNS = 200
LONGEST_CELL = 4_000
"""As many characters as a remark may have."""
LOOKED_AT = 20
"""Lines that are tried with each delimiter: a wrong one gives lines of unequal length."""
UTF_16 = (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)


def read_csv(data: bytes, delimiter: str | None = None) -> Sheet:
    """The sheet in a file; `delimiter` is found out where it is not said. Raises Refusal, TooLarge."""
    if len(data) > LARGEST_BYTES:
        raise TooLarge(f"A CSV file may have {LARGEST_BYTES // 1_000_000} MB: cut it, send each part with the header.")
    text = _decoded(data)
    said = text[4] if text[:4].lower() == "sep=" and text[4:5] in DELIMITERS.values() else None
    mark = delimiter or said or _find_delimiter(text)
    records = _records(text, mark)
    if said is not None:
        next(records)
    header = next(records, None)
    if header is None:
        raise Refusal("There is no line that names the columns, and no row.")
    names = _names(header)
    lines = list(islice(records, MOST_ROWS + 1))
    if len(lines) > MOST_ROWS:
        raise Refusal(f"The file has more than {MOST_ROWS} rows: cut it, send each part with the header.")
    if not lines:
        raise Refusal("The file has a line that names the columns, and no row below it.")
    return Sheet(names, lines, mark)


def _decoded(data: bytes) -> str:
    if data.startswith((b"PK\x03\x04", b"\x1f\x8b", b"\xd0\xcf\x11\xe0")):
        raise Refusal("The file is packed, or a spreadsheet of its program's own kind: save it as CSV in UTF-8.")
    if data.startswith(UTF_16):
        name, encoding = "UTF-16", "utf-16"
    else:
        name, encoding = "UTF-8", "utf-8-sig"
    try:
        text = data.decode(encoding)
    except UnicodeDecodeError as wrong:
        line = data.count(b"\n", 0, wrong.start) + 1
        say = f"The file is not {name} (byte {data[wrong.start]:#04x} in line {line}): save it as CSV in UTF-8."
        raise Refusal(say) from None
    if not text.strip():
        raise Refusal("There is nothing in the file: send a CSV file whose first line names the columns.")
    if "\x00" in text:
        raise Refusal("The file holds the character NUL: it is no text, or UTF-16 without its mark. Save it as UTF-8.")
    return text


def _find_delimiter(text: str) -> str:
    """The delimiter that cuts the first lines into most cells of equal number; a broken line is told of later."""
    best, most = "", (0.0, 0)
    broken: Refusal | None = None
    for mark in DELIMITERS.values():
        counts: list[int] = []
        try:
            for line in islice(_records(text, mark), LOOKED_AT):
                counts.append(len(line.cells))
        except Refusal as refusal:
            broken = broken or refusal
        if counts and counts[0] > 1:
            alike = sum(count == counts[0] for count in counts) / len(counts)
            if (alike, counts[0]) > most:
                best, most = mark, (alike, counts[0])
    if not best and broken is not None:
        raise broken
    if not best:
        say = "The file has one column only, or its delimiter is none of comma, semicolon and tab"
        raise Refusal(f"{say}: a ride takes a day and a distance.", errors=[("/delimiter", "comma, semicolon or tab")])
    return best


def _records(text: str, delimiter: str) -> Iterator[Line]:
    """Every record that is not empty, with the number of the line it begins in. Raises Refusal."""
    reader = csv.reader(StringIO(text, newline=""), delimiter=delimiter, strict=True)
    begins = 1
    try:
        for cells in reader:
            if any(cells):
                if len(cells) > MOST_COLUMNS:
                    raise Refusal(f"Line {begins} has more than {MOST_COLUMNS} columns: that is no list of rides.")
                if max(map(len, cells)) > LONGEST_CELL:
                    raise Refusal(f"Line {begins} has a cell of over {LONGEST_CELL} characters; is a quote missing?")
                yield Line(begins, cells)
            begins = reader.line_num + 1
    except csv.Error as wrong:
        quotes = "a quoted cell should end with a quote, and a quote within it is written twice"
        raise Refusal(f"Line {begins} cannot be read ({wrong}): {quotes}.") from None


def _names(header: Line) -> tuple[str, ...]:
    """What the columns are called; one without a name goes by its place, and a second of a name says so."""
    if not any(letter.isalpha() for cell in header.cells for letter in cell):
        raise Refusal(f"Line {header.number} should name the columns, such as Date,Distance (km); it holds no word.")
    names: list[str] = []
    seen: dict[str, int] = {}
    for place, cell in enumerate(header.cells, 1):
        name = " ".join(cell.split())[:120] or f"column {place}"
        seen[name] = seen.get(name, 0) + 1
        names.append(name if seen[name] == 1 else f"{name} #{seen[name]}")
    return tuple(names)
