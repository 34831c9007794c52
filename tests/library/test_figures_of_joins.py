"""Published sizes and rules through the joins of the procedures: what is known to meet does, and the rest does not.

`pairs.tsv` names a join, its parts with the facts that it reads ("hub@front old_mm=100"), the answer (with the key of
the alternative, where it needs care) and the source; `tyre_and_rim.tsv` is the published table of widths.
"""

import csv
from typing import Any

import pytest

from service.domain.joins import Finding, findings
from tests.domain.garage import Garage, at
from tests.library.figure_rows import FOLDER, shelf


def rows(name: str) -> list[dict[str, str]]:
    with (FOLDER / name).open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines, delimiter="\t", quoting=csv.QUOTE_NONE))


def fact(word: str) -> Any:
    """A number, yes or no, several values, or a word, as it is written in a row."""
    if "/" in word:
        return [float(each) for each in word.split("/")]
    if word in ("yes", "no"):
        return word == "yes"
    try:
        return float(word)
    except ValueError:
        return word


def finding(join: str, parts: str) -> Finding:
    """The finding on a join of these parts, all at one end."""
    garage, wheels = Garage(shelf()), {}
    for written in parts.split(";"):
        head, _, facts = written.strip().partition(" ")
        name, _, end = head.partition("@")
        specs = dict(pair.strip().split("=") for pair in facts.split(",")) if facts else {}
        part = garage.part(name, **{key: fact(word) for key, word in specs.items()})
        if name == "shim":
            garage.fit(part, at(0), join.replace(".", "-"))
        elif "wheel" in shelf().categories[name].into:
            end = end or "rear"
            if end not in wheels:
                wheels[end] = garage.part("wheel")
                garage.fit(wheels[end], at(0), end)
            garage.fit(part, at(0), into=wheels[end])
        else:
            places = shelf().categories[name].places
            rear = "rear" if "rear" in places else next(iter(places), "")
            garage.fit(part, at(0), end or rear)
    met = [each for each in findings(garage.bicycle(), shelf()) if each.key == join]
    assert len(met) == 1, f"{len(met)} findings on {join}: {parts}"
    return met[0]


def shown(met: Finding) -> str:
    return f"{met.answer} {met.care}" if met.care else met.answer


def test_parts_meet_as_published() -> None:
    pairs = rows("pairs.tsv")
    wrong = [
        f"{row['join']}: {row['parts']}: {answer}, not {row['answer']} ({row['source']})"
        for row in pairs
        if (answer := shown(finding(row["join"], row["parts"]))) != row["answer"]
    ]
    assert len(pairs) > 150
    assert not wrong, "\n".join(wrong)


WIDTHS = [{key: float(word) for key, word in row.items() if key != "source"} for row in rows("tyre_and_rim.tsv")]


@pytest.mark.parametrize("row", WIDTHS, ids=lambda row: f"{row['rim_inner_mm']:g} mm inside")
def test_tyres_go_on_rims_as_in_the_published_table(row: dict[str, float]) -> None:
    inner, narrowest, before, widest = row.values()

    def answer(width: float) -> str:
        return shown(finding("tyre.rim-width", f"tyre width_marked_mm={width:g}; rim bead=hooked, inner_mm={inner:g}"))

    over_twice = "needs care over-twice"  # the ratio of about 2 is advice of the same page
    for width in (narrowest, before):
        if before:
            assert answer(width) == (over_twice if width >= 2 * inner else "meets")
    assert answer(widest) in ("meets", "needs care wider-since-2006", over_twice)
    assert answer(widest + 1) == "needs care outside-table"
    below = narrowest - 1
    assert answer(below) == ("needs care outside-table" if inner <= 0.9 * below else "conflicts")
