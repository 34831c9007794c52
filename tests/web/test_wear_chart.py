"""The chart of a wearing dimension: what it draws, what it says to who does not see it, what it leaves out."""

import re
from xml.etree import ElementTree as ET

import pytest

from service.domain.due import desk_of, worn_at
from service.domain.wear_due import Worn
from service.web.wear_chart import wear_chart
from tests.domain.garage import Garage, at
from tests.procedures import whole_library

SVG = "{http://www.w3.org/2000/svg}"


def chain(*readings: tuple[float, float | tuple[float, float | None]], ridden: float = 3000) -> Worn:
    """The growth of a chain on nine sprockets, read after so many km."""
    garage = Garage(whole_library())
    wheel, cassette, own = garage.part("wheel"), garage.part("cassette", sprockets_count=9), garage.part("chain")
    garage.fit(wheel, at(0), "rear")
    garage.fit(cassette, at(0), into=wheel)
    garage.fit(own, at(0))
    for number in range(int(ridden / 100)):
        garage.ride(at(1 + 2 * number, 10), 100)
    for km, reading in readings:
        low, high = reading if isinstance(reading, tuple) else (reading, reading)
        garage.read(own, "elongation_percent", at(int(2 * km / 100) - 1, 18), low, high)
    day = int(2 * ridden / 100)
    desk = desk_of(garage.bicycle(), whole_library(), today=at(day).date(), now=at(day))
    return next(each for each in worn_at(desk) if each.name == "chain.elongation_percent")


def drawn(worn: Worn) -> ET.Element:
    """The picture as a reader of XML sees it."""
    picture = ET.fromstring(wear_chart(worn, "one"))  # noqa: S314 - our own
    found = picture.find("svg")
    assert found is not None
    return found


def kinds(picture: ET.Element, tag: str) -> list[str]:
    return [each.get("class", "") for each in picture.iter(tag)]


def test_readings_are_dots_the_limit_a_line_and_the_future_a_band() -> None:
    picture = drawn(chain((1500, 0.4), (2500, 0.6)))
    assert kinds(picture, "circle") == ["mark", "mark"]
    assert len(list(picture.iter("polygon"))) == 1
    words = [each.text for each in picture.iter("text")]
    assert "0.75" in words
    assert "replace" in words
    told = picture.find("desc")
    assert told is not None
    assert told.text is not None
    assert told.text.startswith("2 readings over its km, limits as dashed lines; the band is where eight of ten")


def test_a_doubted_reading_is_hollow_and_said() -> None:
    picture = drawn(chain((1500, 0.6), (2500, 0.3)))
    assert kinds(picture, "circle") == ["mark", "open"]
    assert list(picture.iter("polygon")) == []  # better than before: nothing is told from it
    assert "doubted and hollow" in "".join(picture.itertext())


@pytest.mark.parametrize(("marks", "lines"), [((0.5, 0.75), 3), ((1.0, None), 2)])
def test_what_lies_between_two_marks_is_a_bar(marks: tuple[float, float | None], lines: int) -> None:
    picture = drawn(chain((2500, marks)))
    assert kinds(picture, "line").count("between") == lines
    assert kinds(picture, "circle") == []


def test_every_coordinate_lies_inside_the_picture() -> None:
    picture = drawn(chain((500, 0.1), (1500, 0.35), (2500, 1.6)))
    _, _, wide, high = (float(each) for each in picture.get("viewBox", "").split())
    for each in picture.iter():
        met = [
            (name, float(worth)) for name, worth in each.items() if name in ("x1", "x2", "cx", "x", "y1", "y2", "cy")
        ]
        for name, worth in met:
            assert 0 <= worth <= (wide if "x" in name else high), (each.tag, name, worth)
        for x, y in re.findall(r"([-\d.]+),([-\d.]+)", each.get("points", "")):
            assert 0 <= float(x) <= wide
            assert 0 <= float(y) <= high


def test_nothing_is_drawn_of_what_was_never_read() -> None:
    assert wear_chart(chain(), "one") == ""
