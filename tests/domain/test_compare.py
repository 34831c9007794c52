"""Two bicycles side by side: the joins that answer otherwise."""

from dataclasses import replace

from service.domain.compare import changed_findings
from service.domain.joins import findings_around, with_joins
from service.domain.places import surroundings
from service.domain.whatif import Supposed, suppose
from tests.domain.bicycles import Workshop
from tests.domain.small_library import ALL, POST_JOIN, SEATPOST, library

LIBRARY = library(tuple(replace(each, joins=(POST_JOIN,)) if each is SEATPOST else each for each in ALL))


def changes(before: float | None, after: float | None) -> list[tuple[str, str | None, str | None]]:
    """What changes where a post of the one diameter gives way to one of the other, in a bore of 27.2; None: no post."""
    shop = Workshop(LIBRARY)
    shop.choose(shop.part("frame", post_mm=27.2))
    posts = [shop.part("seatpost", diameter_mm=size or None) for size in (before or 0, after or 0)]
    if before is not None:
        shop.choose(posts[0])
    was = shop.bicycle()
    now = suppose(was, [Supposed(was.parts[posts[1]], "")] if after is not None else [], LIBRARY).bicycle
    found = [findings_around(with_joins(surroundings(each, LIBRARY))) for each in (was, now)]
    return [
        (each.join, each.before.answer if each.before else None, each.after.answer if each.after else None)
        for each in changed_findings(*found)
    ]


def test_only_joins_that_answer_otherwise_are_told() -> None:
    assert changes(27.2, 27.2) == []
    assert changes(27.2, 27.18) == []  # reads as the same size
    assert changes(27.2, 27.0) == [("seatpost.bore", "meets", "conflicts")]
    assert changes(27.0, 27.2) == [("seatpost.bore", "conflicts", "meets")]
    assert changes(27.0, 0) == [("seatpost.bore", "conflicts", "not measured yet")]


def test_a_join_that_only_one_bicycle_has_stands_alone() -> None:
    assert changes(None, 27.2) == [("seatpost.bore", None, "meets")]
