"""Who may what: a foreign id is 404 on every route, and a right that is missing is 403 and changes nothing."""

import re
from typing import Any, NamedTuple

import httpx
import pytest
from starlette.routing import Route

from service.api.examples import BODIES
from service.app import every_route
from service.records.bench import known_tools
from tests.api.others import member, stranger
from tests.api.words import API, NOON, build, fit, got, made, ok, part, plan, refused, ride, start
from tests.conftest import Served

METHODS = ("GET", "POST", "PUT", "PATCH", "DELETE")
OWN = {"/api/v1/me", "/api/v1/workshop", "/api/v1/devices", "/api/v1/openapi.json"}
TAG = {"If-Match": "*"}


class File(NamedTuple):
    """A body that is no JSON; its build is named in the address."""

    media: str
    text: str
    build: str


class Everything:
    """One row of each kind in the owner's workshop, and how each route is asked about it."""

    def __init__(self, client: httpx.Client) -> None:
        self.build = build(client)
        self.part = part(client, "chain")
        self.planned = part(client, "stem")
        self.fitting = fit(client, self.build, part(client, "frame"))["id"]
        plan(client, self.build, self.planned)
        fit(client, self.build, self.part)
        fit(client, self.build, part(client, "brake-lever", specs={"reach_mm": {"number": 110}}), "left")
        found = got(client, f"/builds/{self.build}/findings")["items"]
        self.finding = next(each["fingerprint"] for each in found if each["join"] == "brake-lever.reach@left")
        self.job = start(client, self.build)
        self.ride = ride(client, self.build, 20, "2026-05-01")["id"]
        self.reading = made(client, "/odometer-readings", build=self.build, km=20)["id"]
        self.event = made(client, "/maintenance-events", build=self.build, kind="travelled")["id"]
        sent = {"part": self.part, "dimension": "elongation_percent", "reading": 0.1}
        self.measurement = made(client, "/wear-measurements", **sent)["id"]
        self.person = ok(client.get(f"{API}/me"))["person"]["id"]
        where = {"kind": "mail", "address": "rider@home.example"}
        self.channel = made(client, f"/people/{self.person}/channels", **where)["id"]
        self.wrench = made(client, "/wrenches", title="Small", low_nm=2, high_nm=24)["id"]
        ok(client.put(f"{API}/parts/{self.part}/specs/links_count", json={"number": 114}))
        ok(client.put(f"{API}/parts/{self.planned}/torque-figures/steerer-clamp", json={"high_nm": 5}))

    def path(self, route: Route) -> str:
        """The route with the ids of these rows in it."""
        step = "frame.inspect"
        build_task = "/builds/{build_id}/tasks" in route.path
        part_id = self.planned if "torque" in route.path or "/plan/" in route.path else self.part
        names = {
            "build_id": self.build,
            "part_id": part_id,
            "fitting_id": self.fitting,
            "checklist_id": self.job["id"],
            "ride_id": self.ride,
            "reading_id": self.reading,
            "event_id": self.event,
            "measurement_id": self.measurement,
            "wrench_id": self.wrench,
            "person_id": self.person,
            "channel_id": self.channel,
            "step": step,
            "join": "brake-lever.reach@left",
            "field": "links_count",
            "fastening": "steerer-clamp",
            "task": "whole-bicycle.yearly" if build_task else "chain.lubricate",
            "device_id": self.wrench,
            "request_id": self.wrench,
        }
        return re.sub(r"{([a-z_]+)}", lambda found: str(names.get(found[1], found[1])), route.path)

    def body(self, method: str, path: str) -> Any:
        """What is sent so that nothing but the foreign id stands against it."""
        bodies: list[tuple[str, Any]] = [
            ("PUT .*/specs/", {"number": 112}),
            ("PUT .*/torque-figures/", {"high_nm": 6}),
            ("PUT .*/put-off", {"until_on": "2026-05-20", "reason": "away"}),
            ("PUT .*/rule", {"km": 500}),
            ("PUT .*/acceptance$", {"reason": "Long fingers.", "fingerprint": self.finding}),
            ("PUT .*/marks/", {"fingerprint": self.fingerprint}),
            ("PUT .*/plan/", {}),
            ("POST .*/fittings$", {"part": self.part}),
            ("POST .*/swaps$", {"off": self.part, "same_again": True}),
            ("POST .*/checklists$", {"job": "check"}),
            ("POST .*/set-ups$", {"saddle_height_mm": 700}),
            ("POST .*/expenses$", {"kind": "shop", "amount": {"minor": 3000, "currency": "EUR"}}),
            ("POST .*/what-if$", {"parts": [{"category": "stem", "place": ""}]}),
            ("POST .*/compare$", {"sides": [{"build": self.build}, {"build": self.build}]}),
            ("POST .*/rides/gpx$", File("application/gpx+xml", BODIES["add_ride_from_track"], self.build)),
            ("POST .*/imports/rides$", File("text/csv", BODIES["add_rides_from_sheet"], self.build)),
            ("POST .*/rides$", {"build": self.build, "day": "2026-05-01", "km": 5}),
            ("POST .*/odometer-readings$", {"build": self.build, "km": 50}),
            ("POST .*/maintenance-events$", {"part": self.part, "kind": "cleaned"}),
            ("POST .*/wear-measurements$", {"part": self.part, "dimension": "elongation_percent", "reading": 0.2}),
            ("POST .*/channels$", {"kind": "mail", "address": "other@home.example"}),
            ("PATCH .*/channels/", {"weekly_on": 2}),
            ("PATCH .*/checklists/", {"finished": True}),
            ("PATCH .*/(rides|odometer-readings)/", {"km": 6}),
            ("PATCH .*/fittings/", {"why_removed": "worn"}),
            ("PATCH .*/wear-measurements/", {"low": 0.3}),
            ("PATCH ", {"note": "changed"}),
            ("POST .*/undo", {}),
        ]
        return next((body for pattern, body in bodies if re.match(pattern, f"{method} {path}")), None)

    @property
    def fingerprint(self) -> str:
        """Of the step that is ticked."""
        found = next(step["fingerprint"] for step in self.job["steps"] if step["id"] == "frame.inspect")
        return str(found)


def named_routes() -> list[tuple[str, Route]]:
    """Every method and route that names a row of the workshop, in its path or in what is sent."""
    routes = [route for route in every_route() if route.path.startswith("/api/")]
    pairs = [(method, route) for route in routes for method in METHODS if method in (route.methods or ())]
    in_body = re.compile(r"/(rides|rides/gpx|odometer-readings|maintenance-events|wear-measurements|compare)$")
    return [
        (method, route)
        for method, route in pairs
        if re.search(r"{[a-z]+_id}", route.path) or (method == "POST" and in_body.search(route.path))
    ]


def asked(client: httpx.Client, method: str, path: str, body: Any) -> httpx.Response:
    """A request with all that its route wants."""
    if isinstance(body, File):
        headers = {"Content-Type": body.media}
        return client.request(method, path, params={"build": body.build}, content=body.text, headers=headers)
    query = {"km": "1200", "days": "21", "leaving": "2026-05-25"} if path.endswith("/tour") else {}
    headers = TAG if method in ("PATCH", "DELETE") else {}
    return client.request(method, path, json=body, params=query, headers=headers)


def test_a_foreign_id_is_404_on_every_route(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    every = Everything(client)
    lines = len(ok(client.get(f"{API}/journal", params={"limit": 200}))["items"])
    wrong = {}
    with service.client(stranger(service)) as foreign:
        for method, route in named_routes():
            answer = asked(foreign, method, every.path(route), every.body(method, route.path))
            if answer.status_code != 404:
                wrong[f"{method} {route.path}"] = (answer.status_code, answer.text)
    assert wrong == {}
    assert len(ok(client.get(f"{API}/journal", params={"limit": 200}))["items"]) == lines


def test_the_owner_is_not_answered_404_by_the_same_requests(client: httpx.Client, service: Served) -> None:
    """The counterpart of the walk above: what was sent there is right in all but whose it is."""
    service.now = NOON
    every = Everything(client)
    gets = [(method, route) for method, route in named_routes() if method in ("GET", "POST", "PUT")]
    statuses = {}
    for method, route in gets:
        if not route.path.endswith("/undo"):
            answer = asked(client, method, every.path(route), every.body(method, route.path))
            statuses[f"{method} {route.path}"] = answer.status_code
    assert {name: status for name, status in statuses.items() if status in (404, 422)} == {}


def test_lists_show_nothing_of_another_workshop(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    every = Everything(client)
    lists = (
        "builds",
        "parts",
        "rides",
        "odometer-readings",
        "maintenance-events",
        "wear-measurements",
        "due",
        "wrenches",
    )
    with service.client(stranger(service)) as foreign:
        for name in lists:
            assert ok(client.get(f"{API}/{name}"))["items"] != [], name
            assert ok(foreign.get(f"{API}/{name}"))["items"] == [], name
        for name in lists[2:6]:
            assert ok(foreign.get(f"{API}/{name}", params={"build": every.build}))["items"] == [], name


def test_a_foreign_part_is_fitted_and_planned_nowhere(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    every = Everything(client)
    with service.client(stranger(service)) as foreign:
        own, own_wheel = build(foreign), part(foreign, "tyre")
        wheel = part(client, "wheel")
        tries = (
            foreign.post(f"{API}/builds/{own}/fittings", json={"part": every.planned}),
            foreign.post(f"{API}/builds/{own}/fittings", json={"part": own_wheel, "into_part": wheel}),
            foreign.put(f"{API}/builds/{own}/plan/{every.planned}", json={}),
            foreign.put(f"{API}/builds/{own}/plan/{own_wheel}", json={"into_part": wheel}),
            foreign.post(f"{API}/builds/{own}/swaps", json={"off": every.part, "same_again": True}),
            foreign.post(f"{API}/builds/{own}/checklists", json={"job": "replace", "about_part": every.part}),
        )
        assert [answer.status_code for answer in tries[:5]] == [404] * 5
        refused(tries[5], 400, "neither on the bicycle nor planned")


@pytest.mark.parametrize("may", ["read", "work"])
def test_who_may_only_read_changes_nothing_and_who_works_does(client: httpx.Client, service: Served, may: Any) -> None:
    service.now = NOON
    every = Everything(client)
    wrong = {}
    with service.client(member(service, may)) as other:
        for method, route in named_routes():
            if "device" in route.path or "channels" in route.path or method == "DELETE":
                continue
            answer = asked(other, method, every.path(route), every.body(method, route.path))
            allowed = method == "GET" or may == "work" or route.path.endswith(("/what-if", "/compare"))  # store nothing
            if (answer.status_code == 403) == allowed:
                wrong[f"{method} {route.path}"] = (answer.status_code, answer.text)
        tool = next(iter(known_tools(service.app.state.library)))
        assert other.put(f"{API}/tools/{tool}").status_code == (204 if may == "work" else 403)
        assert other.post(f"{API}/parts", json={"category": "stem", "name": "s"}).status_code == (
            201 if may == "work" else 403
        )
        answer = other.patch(f"{API}/workshop", json={"name": "Ours"}, headers=TAG)
        refused(answer, 403, "own")
    assert wrong == {}
