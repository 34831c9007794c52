"""Charts as the server draws them: every word escaped, every gear drawn, nothing where there is nothing to show."""

from service.domain.bar_and_saddle import position
from service.domain.gears import gears
from service.domain.procedure import Library
from service.web.charts import Bar, bar_chart, gear_chart, position_chart
from tests.domain.reckoned_bicycle import ReckonedBicycle


def test_words_never_break_out_of_a_chart() -> None:
    drawn = bar_chart("x", "<b>", [Bar("<script>", 3, 1, "3 & more", 4)], "told")
    assert "<script>" not in drawn
    assert "<b>" not in drawn
    assert "&lt;script&gt;" in drawn
    assert "3 &amp; more" in drawn


def test_where_there_is_nothing_to_show_there_is_no_chart(library: Library) -> None:
    made = ReckonedBicycle(library)
    assert bar_chart("x", "t", [Bar("none", 0, 0, "0")], "told") == ""
    assert bar_chart("x", "t", [], "told") == ""
    made.give("frame", stack_mm=None, seat_angle_deg=None)
    assert position_chart(position(made.bicycle(), library)) == ""
    for place in ("inner", "outer"):
        made.give(f"chainring@{place}", ring_teeth=None)
    assert gear_chart(gears(made.bicycle(), library)) == ""


def test_every_gear_has_its_dot_and_a_crossed_one_is_hollow(library: Library) -> None:
    found = gears(ReckonedBicycle(library).bicycle(), library)
    picture = gear_chart(found)
    assert picture.count("<circle") == len(found.gears)
    assert picture.count('class="open"') == sum(each.crossed for each in found.gears)
    assert picture.count("<title ") == picture.count("<desc ") == 1


def test_the_position_is_told_in_words_too(library: Library) -> None:
    picture = position_chart(position(ReckonedBicycle(library).bicycle(), library))
    assert "from the middle of the shell: saddle 209 mm behind and 661 mm over it" in picture
    assert picture.count("<circle") == 4  # shell, saddle, bar, grips
