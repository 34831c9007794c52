"""Where a part can sit: what it goes into, its places, and that they can be counted before anything is made of them."""

import re

from service.domain.ends import own_places
from service.domain.order import WHOLE, Categories
from service.library.report import Report

MOST_PLACES = 32
"""The effective places of one category, hosts' places counted in; the most that the program's own have is 6."""
DEEPEST = 4
"""Hosts within hosts, as far as places are composed."""
WORD = re.compile(r"[a-z0-9]+([_-][a-z0-9]+)*")


def check_places(report: Report) -> None:
    """The first look of all: a category that would have places without end is left out of the others."""
    categories = report.shelf.categories
    for name, category in categories.items():
        for number, into in enumerate(category.into):
            if _comes_back(report, name, into):
                report.wrong(name, ("into", number), f"a {name} would go into itself: name what it is fitted to")
        for word in own_places(category):
            if not WORD.fullmatch(word):
                report.wrong(name, ("places",), f"the place {word!r} should be spelt like-this")
        if not category.into and name != WHOLE:
            report.wrong(name, ("category",), f'a {name} goes nowhere: write what it is fitted to, into = ["build"]')
    counted: dict[tuple[str, int], int] = {}
    for name in [name for name in categories if _count(categories, name, DEEPEST, counted) > MOST_PLACES]:
        what = f"a {name} would have more than {MOST_PLACES} places, those of what it goes into counted in"
        report.wrong(name, ("places",), what)
        report.shelf.broken.add(f"categories/{name}")
        del categories[name]


def _comes_back(report: Report, name: str, into: str) -> bool:
    seen: set[str] = set()
    front = [into]
    while front:
        host = front.pop()
        if host == name:
            return True
        if host not in seen and host in report.categories:
            seen.add(host)
            front += report.categories[host].into
    return False


def _count(categories: Categories, name: str, depth: int, counted: dict[tuple[str, int], int]) -> int:
    """How many places `order.places_of` would make, without making them."""
    if (name, depth) not in counted:
        category, count = categories[name], 0
        for host in dict.fromkeys(category.into):
            words = len(own_places(category, host)) or 1
            if host == "build":
                count += words
            elif host in categories and host != name and depth:
                count += words * _count(categories, host, depth - 1, counted)
        counted[name, depth] = count or len(own_places(category)) or 1
    return counted[name, depth]
