"""The look: contrast of every pair of colours that is used, and what must be said in words."""

import re

import pytest

from service.web.pages import HERE

STYLE = (HERE / "static" / "locknut.css").read_text()
TEXT, LARGE_OR_PART = 4.5, 3.0
"""WCAG 2.2, 1.4.3: text at least 4.5 to 1; 1.4.11: the edges of fields and buttons at least 3 to 1."""
PAIRS = [
    ("ink", "paper", TEXT),
    ("ink", "leaf", TEXT),
    ("pencil", "paper", TEXT),
    ("pencil", "leaf", TEXT),
    ("brass", "paper", TEXT),
    ("brass", "leaf", TEXT),
    ("on-brass", "brass", TEXT),
    ("on-stamp", "stamp", TEXT),
    ("edge", "paper", LARGE_OR_PART),
    ("edge", "leaf", LARGE_OR_PART),
]


def colours(scheme: str) -> dict[str, str]:
    """The variables of a scheme; the dark one changes those of the light one."""
    blocks = re.findall(r":root \{([^}]*)\}", STYLE)
    light = dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6})", blocks[0]))
    return light if scheme == "light" else light | dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6})", blocks[1]))


def luminance(colour: str) -> float:
    """Relative luminance of an sRGB colour, as WCAG 2.2 defines it."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours, as WCAG 2.2 defines it: 1 to 21."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_ratio_is_that_of_the_standard() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21)  # WCAG 2.2, definition of contrast ratio
    assert contrast("#777777", "#ffffff") < TEXT < contrast("#767676", "#ffffff")  # its well-known edge for grey


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize(("one", "other", "least"), PAIRS)
def test_colours_stand_out(scheme: str, one: str, other: str, least: float) -> None:
    found = colours(scheme)
    assert contrast(found[one], found[other]) >= least


def test_every_colour_is_one_of_the_variables() -> None:
    rest = re.sub(r"--[\w-]+: #[0-9a-f]{3,6}", "", STYLE)
    assert set(re.findall(r"#[0-9a-f]{3,8}\b", rest)) <= {"#000"}  # print
    assert not re.search(r"\b(rgb|hsl|red|green|orange|yellow)\b", re.sub(r"/\*.*?\*/", "", rest))


def test_what_is_tapped_is_large_enough() -> None:
    """44 px and more where a finger taps (WCAG 2.2, 2.5.5), 48 px and more at the stand: 1 rem is 16 px or more."""
    least = {"button, a.button, input, select, textarea": 2.75, "a.row": 2.75, "a.tap": 2.75, ".pick": 2.75}
    least |= {"header.top a": 2.75, ".stand button, .stand a.button": 3, ".stand .tick": 3, ".turn a, .turn span": 3}
    for selector, rem in least.items():
        found = re.search(rf"^{re.escape(selector)} \{{[^}}]*min-height: ([\d.]+)rem", STYLE, re.MULTILINE)
        assert found, selector
        assert float(found[1]) >= rem, selector
