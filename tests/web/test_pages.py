"""Every page: well formed, labelled, from one host, small, and as many statements for 20 rows as for one."""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from urllib.parse import urljoin, urlsplit

import httpx
import pytest
import sqlalchemy as sa

from service.database import Database
from tests.api.words import NOON, build, days, fit, got, part, plan, ride, specs, start
from tests.conftest import Served
from tests.web.browser import Browser, Page

pytestmark = pytest.mark.parametrize("database", ["sqlite"], indirect=True)  # the same statements on either
MOST_ON_THE_WIRE = 60_000
MOST_STYLE = 12_000
PER_SHAPE = 2
"""So many pages of each kind are walked to; the next hundred parts look like the first two."""


def workshop(client: httpx.Client) -> str:
    """A build under way with wheels, a swap, a ride, a log, a finished and an open job; its id."""
    on = build(client)
    frame = specs(brake_mount="post", material="steel", bb_shell="threaded_english")
    fit(client, on, part(client, "frame", "Grey frame", specs=frame, origin="second-hand", tag="A1"))
    for category, place in {"chain": "", "tyre": "front", "cassette": "rear"}.items():
        fit(client, on, part(client, category), place, at=NOON.isoformat())
    for category, place in {"fork": "", "brake-lever": "left", "cable-disc-caliper": "front", "stem": ""}.items():
        plan(client, on, part(client, category, state="ordered" if category == "stem" else "in hand"), place)
    part(client, "saddle")
    ride(client, on, 40, NOON)
    start(client, on)
    return on


def shape_of(path: str) -> str:
    """A page's kind: its address without ids and what it was asked with."""
    bare = re.sub(r"[0-9a-f]{8}-[0-9a-f-]{27}", "ID", path.partition("#")[0])
    return re.sub(r"=[^&]*", "", bare)


def walk(browser: Browser) -> Iterator[Page]:
    """Every kind of page that can be reached by links from the first."""
    waiting, seen, shapes = ["/"], set[str](), dict[str, int]()
    while waiting:
        path = waiting.pop(0).partition("#")[0]
        if path in seen or shapes.get(shape_of(path), 0) >= PER_SHAPE or not path.startswith("/"):
            continue
        if path.startswith(("/static/", "/api/v1/")):
            continue
        seen.add(path)
        shapes[shape_of(path)] = shapes.get(shape_of(path), 0) + 1
        page = browser.open(path)
        waiting += [urljoin(path, link) for link in page.links() if not urlsplit(link).netloc]
        yield page


def test_every_page_is_well_formed_labelled_and_asks_no_other_host(
    browser: Browser, client: httpx.Client, service: Served
) -> None:
    service.now = NOON + days(1)
    workshop(client)
    shapes = set()
    for page in walk(browser):
        shapes.add(shape_of(page.path))
        check_frame(page)
        check_fields(page)
        check_one_host(page)
        check_links_within(page)
    wanted = {"/", "/due", "/parts", "/parts/new", "/parts/ID", "/parts/ID/facts", "/parts/ID/swap", "/bench", "/api"}
    wanted |= {f"/builds/ID/{each}" for each in ("what-if", "compare", "shopping")}
    wanted |= {f"/builds/ID/{each}" for each in ("fit", "ride", "log", "due", "jobs", "change", "plan")} | {"/sources"}
    assert wanted | {"/builds/ID", "/checklists/ID", "/checklists/ID/list", "/parts/ID/take-off"} <= shapes


def check_frame(page: Page) -> None:
    """One heading of the first rank, a title of its own, a language, a way past the head, no id twice."""
    assert len(page.all("h1")) == 1, page.path
    assert page.text_of("title").endswith("Locknut")
    assert page.all("html", lang="en-GB")
    assert page.elements[[e.tag for e in page.elements].index("a")].attributes["href"] == "#page"
    assert page.all("main", id="page")
    ids = [e.attributes["id"] for e in page.elements if "id" in e.attributes]
    assert sorted(set(ids)) == sorted(ids), f"{page.path}: {[each for each in ids if ids.count(each) > 1]}"


def check_fields(page: Page) -> None:
    """Every field has a label: around it, or by its id (WCAG 2.2, 1.3.1 and 3.3.2)."""
    labelled = {e.attributes.get("for") for e in page.all("label")}
    around = set(re.findall(r"<label[^>]*><input[^>]*name=\"([^\"]*)\"", page.source))
    for tag in ("input", "select", "textarea"):
        for element in page.all(tag):
            if element.attributes.get("type") == "hidden":
                continue
            name = element.attributes.get("name", "")
            assert element.attributes.get("id") in labelled or name in around, f"{page.path}: {name} has no label"


def check_one_host(page: Page) -> None:
    """Nothing inline, and nothing loaded or sent anywhere else; a source's address is a link to follow by hand."""
    for element in page.elements:
        assert "style" not in element.attributes, page.path
        assert not [name for name in element.attributes if name.startswith("on")], page.path
        for name in ("src", "action", "srcset", "data", "poster", "formaction"):
            assert not urlsplit(element.attributes.get(name, "")).netloc, page.path
        if element.tag == "link":
            assert element.attributes["href"].startswith("/static/"), page.path
        if element.tag == "script":
            assert (element.attributes["src"][:8], element.text) == ("/static/", ""), page.path
        assert element.tag not in ("style", "iframe", "object", "embed", "base"), page.path
    outside = {link for link in page.links() if urlsplit(link).netloc}
    assert page.path == "/sources" or outside == set(), page.path
    assert "default-src 'none'" in page.answer.headers["content-security-policy"]
    assert "unsafe-inline" not in page.answer.headers["content-security-policy"]


def check_links_within(page: Page) -> None:
    """A link into the page itself finds something there."""
    ids = {e.attributes["id"] for e in page.elements if "id" in e.attributes}
    assert [link for link in page.links() if link.startswith("#") and link[1:] not in ids] == [], page.path


def test_every_source_of_the_library_has_a_line_of_its_own(browser: Browser, service: Served) -> None:
    page = browser.open("/sources")
    ids = {e.attributes["id"] for e in page.all("li") if "id" in e.attributes}
    assert ids == set(service.app.state.library.sources)


def test_static_files_ask_no_other_host_and_are_small(browser: Browser) -> None:
    page = browser.open("/")
    files = [e.attributes["href"] for e in page.all("link")] + ["/static/" + name for name in static_names()]
    for path in dict.fromkeys(files):
        answer = browser.client.get(path)
        assert answer.status_code == 200
        text = answer.text.replace("http://www.w3.org/2000/svg", "")  # the name of a vocabulary, never asked for
        assert "//" not in re.sub(r"^\s*//.*$", "", text, flags=re.MULTILINE), path
        assert "@import" not in text
        assert len(answer.content) < MOST_STYLE, path


def static_names() -> list[str]:
    """Every static file under the name it is served by."""
    from service.web.pages import HERE, static

    return [static(each.name).removeprefix("/static/") for each in (HERE / "static").iterdir()]


def test_a_first_load_stays_under_its_budget(browser: Browser, client: httpx.Client, service: Served) -> None:
    """60 kB on the wire: what the pages have set themselves, no outside source."""
    service.now = NOON + days(1)
    workshop(client)
    always = sum(int(browser.client.get(f"/static/{name}").headers["content-length"]) for name in static_names())
    sizes = {shape_of(page.path): int(page.answer.headers["content-length"]) for page in walk(browser)}
    largest = max(sizes, key=lambda shape: sizes[shape])
    assert always + sizes[largest] < MOST_ON_THE_WIRE, largest


@contextmanager
def counted(database: Database) -> Iterator[list[str]]:
    """The statements that run while the block does."""
    met: list[str] = []

    def note(_c: object, _cursor: object, statement: str, *_rest: object) -> None:
        met.append(statement)

    sa.event.listen(database.engine, "before_cursor_execute", note)
    try:
        yield met
    finally:
        sa.event.remove(database.engine, "before_cursor_execute", note)


def statements(service: Served, browser: Browser, path: str) -> int:
    """How many statements one page takes, once the device was seen today."""
    browser.open(path)
    with counted(service.database) as met:
        browser.open(path)
    return len(met)


LISTS = ("/", "/parts", "/bench")
OF_A_BUILD: tuple[str, ...] = (
    "",
    "/fit",
    "/ride",
    "/log",
    "/due",
    "/trouble",
    "/jobs",
    "/change",
    "/gears",
    "/room",
    "/worth",
)
OF_A_BUILD += ("/position",)


def test_lists_take_as_many_statements_for_20_rows_as_for_one(
    browser: Browser, client: httpx.Client, service: Served
) -> None:
    build(client, "First")
    part(client, "chain", "First")
    tools = list(service.app.state.library.tools)[:20]
    client.put("/api/v1/tools/chain-whip")
    before = {path: statements(service, browser, path) for path in LISTS}
    for number in range(20):
        build(client, f"Build {number}")
        part(client, "chain", f"Chain {number}")
        client.put(f"/api/v1/tools/{tools[number]}")
    assert {path: statements(service, browser, path) for path in LISTS} == before


def test_due_shows_few_builds_at_once_so_that_many_cost_no_more(
    browser: Browser, client: httpx.Client, service: Served
) -> None:
    for number in range(6):
        build(client, f"Build {number}")
    before = statements(service, browser, "/due")
    for number in range(20):
        build(client, f"Further {number}")
    assert statements(service, browser, "/due") == before
    assert [link for link in browser.open("/due").links() if link.startswith("/due?after=")]


def test_the_pages_of_a_build_take_as_many_statements_for_20_parts_as_for_one(
    browser: Browser, client: httpx.Client, service: Served
) -> None:
    service.now = NOON + days(1)
    on = build(client)
    frame = part(client, "frame", "Grey frame", specs=specs(material="steel"))
    fit(client, on, frame, at=NOON.isoformat())
    fit(client, on, part(client, "tyre"), "front", at=NOON.isoformat())
    ride(client, on, 10, NOON)
    job = start(client, on)["id"]
    paths = [f"/builds/{on}{end}" for end in OF_A_BUILD]
    paths += [f"/checklists/{job}", f"/checklists/{job}/list", f"/parts/{frame}", f"/parts/{frame}/facts"]
    before = {path: statements(service, browser, path) for path in paths}
    assert max(before.values()) <= 24  # a look at a bicycle, the job under way, and who asks
    more = [
        "fork",
        "headset",
        "bottom-bracket",
        "crankset",
        "chain",
        "rear-derailleur",
        "stem",
        "handlebar",
        "saddle",
        "seatpost",
    ]
    for category in more:
        place = "rear" if category == "rear-derailleur" else ""
        fit(client, on, part(client, category, specs={}), place, at=NOON.isoformat())
    for place in ("left", "right"):
        plan(client, on, part(client, "brake-lever"), place)
        plan(client, on, part(client, "shifter"), place)
    for category in ("rim", "hub", "rotor", "rim-tape"):
        fit(client, on, part(client, category), "front", at=NOON.isoformat())
    for number in range(19):
        ride(client, on, 10, NOON - days(number))
    assert len(got(client, f"/builds/{on}/fittings")["items"]) > 15
    assert {path: statements(service, browser, path) for path in paths} == before


NASTY = "<script>alert(1)</script>\"'><img src=x>"


def test_what_was_typed_is_never_markup(browser: Browser, client: httpx.Client, service: Served) -> None:
    service.now = NOON + days(1)
    on = build(client, NASTY, note=NASTY)
    chain = part(client, "chain", NASTY, note=NASTY, tag="<b>B7</b>")
    frame = part(client, "frame", NASTY, specs={"serial": {"words": NASTY}} if has_spec(service, "serial") else {})
    fit(client, on, frame, at=NOON.isoformat())
    fit(client, on, chain, at=NOON.isoformat())
    ride(client, on, 10, NOON, note=NASTY)
    client.post("/api/v1/wrenches", json={"title": NASTY, "low_nm": 2, "high_nm": 20})
    start(client, on)
    met = 0
    for page in walk(browser):
        assert "<script>alert" not in page.source, page.path
        assert page.all("img") == [], page.path
        met += "&lt;script&gt;alert" in page.source
    assert met > 10
    refused = browser.send(browser.open("/").form("/builds"), {"name": "A", "km_before": NASTY}, status=422)
    assert refused.all("img") == []
    assert refused.form("/builds").fields["km_before"] == [NASTY]


def has_spec(service: Served, key: str) -> bool:
    """Whether a frame has this fact."""
    return key in {spec.key for spec in service.app.state.library.categories["frame"].specs}


@pytest.mark.parametrize("path", ["/", "/due", "/parts", "/bench", "/api", "/sources", "/parts/new", "/builds"])
def test_a_stranger_is_told_how_to_sign_in(visitor: httpx.Client, path: str) -> None:
    method = "POST" if path == "/builds" else "GET"
    answer = visitor.request(method, path, headers={"Origin": str(visitor.base_url).rstrip("/")})
    assert answer.status_code == 401
    assert "locknut person link" in answer.text


def test_another_workshops_page_is_not_found(browser: Browser) -> None:
    nobody = "0199f2a1-7c00-7000-8000-00000000000a"
    for path in (f"/builds/{nobody}", f"/parts/{nobody}", f"/checklists/{nobody}", f"/builds/{nobody}/due"):
        assert browser.open(path, 404).text_of("h1") == "Not found"
