"""Lines of values in TOML text, against lines counted by hand; and every line that the real files have."""

import tomllib

import pytest

from service.library.read import procedures_folder
from service.library.where import line_of

TEXT = '''# a comment
title = "One"
places = [
  "front",

  # the other one
  "rear", "both",
]
host = { front = "fork", rear = "frame" }

[[steps]]
key = "first"
text = """
more
lines"""
needs = [
  "a", "b",
  { milestone = "c", of = [
    "frame",
  ] }, "d",
]

[[steps]]
minutes = 5
[[steps.records]]
into = "mass"
[[steps.records]]
into = "check:x"
[factors.lining]
wet = 1.5
'''


@pytest.mark.parametrize(
    ("path", "line"),
    [
        ((), 1),
        (("title",), 2),
        (("places",), 3),
        (("places", 0), 4),
        (("places", 1), 7),
        (("places", 2), 7),
        (("host", "rear"), 9),
        (("steps", 0), 12),
        (("steps", 0, "text"), 13),
        (("steps", 0, "needs", 1), 17),
        (("steps", 0, "needs", 2, "of"), 18),
        (("steps", 1), 23),
        (("steps", 1, "minutes"), 24),
        (("steps", 1, "records", 1, "into"), 28),
        (("factors", "lining", "wet"), 30),
        (("factors",), 29),
        (("nothing", "of", "this"), 1),
        (("steps", 1, "text"), 23),
    ],
)
def test_a_value_is_found_on_its_line(path: tuple[str | int, ...], line: int) -> None:
    assert line_of(TEXT, path) == line


def test_a_table_with_a_key_is_pointed_at_by_its_key() -> None:
    assert line_of('[[steps]]\ntitle = "t"\nkey = "k"\n', ("steps", 0)) == 3


def test_every_key_of_a_real_file_is_found_where_it_is_written() -> None:
    file = procedures_folder() / "categories" / "cable-disc-caliper.toml"
    text = file.read_text("utf-8")
    raw, lines = tomllib.loads(text), text.splitlines()
    steps = [(number, key) for number, step in enumerate(raw["steps"]) for key in step]
    assert len(steps) > 20
    assert [pair for pair in steps if not lines[line_of(text, ("steps", *pair)) - 1].startswith(f"{pair[1]} =")] == []
