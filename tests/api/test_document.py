"""The OpenAPI document: complete, true to what is answered, and the same as the one that is kept beside the code."""

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import jsonschema_rs
import pytest
from fastapi.routing import APIRoute
from sqlmodel import select

from service.api import examples
from service.api.examples import BUILD, LEVER, LEVER_FITTED, STEM
from service.app import API_ROUTERS
from service.tables import Journal
from tests.api.words import API, NOON, ONE_DATABASE, ok
from tests.conftest import Served

pytestmark = ONE_DATABASE
KEPT = Path(__file__).parents[2] / "docs" / "openapi.json"
REWRITE = "scripts/openapi"
VERBS = re.compile(
    "(accept|add|cancel|change|draw|drop|finish|fit|get|list|log|measure|own|plan|put|read|remove|revoke|set|start|swap|tick|"
    "undo|unplan|untick|work_out)_[a-z_]+"
)
UNITS = re.compile(
    r"(^|_)(km|kmh|g|n|m|in|mm|mm2|nm|kpa|s|rpm|deg|teeth|minutes|days|hours|percent|minor)$|^km_before$"
)
# counts, places in an order, and numbers whose unit is the end of other words (a spec's key, a dimension, "km_left")
WITHOUT_UNIT = re.compile(
    "version|bolts?|count|total|done|skipped|open|undecided|decides|visit|status|lines?|parts|pieces|id|conflicts|"
    "needs_care|not_measured|accepted|number|reading|low|high|limit_reading|value|amount|least|early|middle|late|sd|expected|chance|chance_before|chance_by_end|weekly_on|[a-z]+_share|days_left|"
    "minutes_left|ratio|gain_ratio|links_approximate|links_exact|links_to_fit|spokes_count|new|new_spread|crosses|nut_factor|proof_share|"
    "torque|N·m|lbf·in|lbf·ft|kgf·cm|earliest_start|earliest_finish|latest_start|latest_finish|slack|[a-z_]+_count|"
    "hub_gear|[a-z_]*primary_ratio|before|after|by|segments|amount_before|amount_after|visits_saved"
)


def document(client: httpx.Client) -> dict[str, Any]:
    """The document as it is served."""
    return dict(ok(client.get(f"{API}/openapi.json")))


def operations(of: dict[str, Any]) -> Iterator[tuple[str, str, dict[str, Any]]]:
    """Method, path and operation, in the document's order."""
    for path, methods in of["paths"].items():
        for method, operation in methods.items():
            yield method.upper(), path, operation


def ids() -> list[str]:
    """The id of every operation."""
    routes = [route for router in API_ROUTERS for route in router.routes if isinstance(route, APIRoute)]
    return [route.name for route in routes if route.include_in_schema and route.path.startswith("/api/")]


def test_the_document_beside_the_code_is_the_one_that_is_served(client: httpx.Client) -> None:
    served = json.dumps(document(client), indent=1, ensure_ascii=False, sort_keys=True) + "\n"
    assert KEPT.exists(), f"write it: {REWRITE}"
    assert KEPT.read_text(encoding="utf-8") == served, f"the API has changed; look at it, then: {REWRITE}"


def test_every_operation_is_named_by_verb_and_noun_once(client: httpx.Client) -> None:
    names = [operation["operationId"] for _, _, operation in operations(document(client))]
    assert len(names) == len(set(names)) == len(ids())
    assert [name for name in names if not VERBS.fullmatch(name)] == []


def test_every_operation_says_what_it_does_and_what_it_is_asked(client: httpx.Client) -> None:
    bare = []
    for method, path, operation in operations(document(client)):
        said = [operation.get("summary"), operation.get("description")]
        said += [parameter.get("description") for parameter in operation.get("parameters", ())]
        said += [answer.get("description") for answer in operation["responses"].values()]
        bare += [f"{method} {path}"] if not all(said) else []
    assert bare == []


def test_every_field_is_described_and_a_number_ends_in_its_unit(client: httpx.Client) -> None:
    bare, without_unit = [], []
    for name, schema in document(client)["components"]["schemas"].items():
        for field, told in schema.get("properties", {}).items():
            kinds = {each.get("type") for each in (told, *told.get("anyOf", ()))}
            bare += (
                [f"{name}.{field}"] if not told.keys() & {"description", "$ref"} else []
            )  # what is referred to says it
            if kinds & {"number", "integer"} and not UNITS.search(field) and not WITHOUT_UNIT.fullmatch(field):
                without_unit.append(f"{name}.{field}")
    assert bare == []
    assert without_unit == []


def test_null_is_only_where_it_means_something(client: httpx.Client) -> None:
    served = document(client)
    nullable = []
    for name, schema in served["components"]["schemas"].items():
        if schema.get("additionalProperties") is False and not name.endswith("Changed"):  # what is sent, patches apart
            nullable += [f"{name}.{field}" for field, told in schema["properties"].items() if "null" in str(told)]
    for method, path, operation in operations(served):
        nullable += [f"{method} {path}" for each in operation.get("parameters", ()) if "null" in str(each["schema"])]
    assert nullable == []


def test_every_refusal_is_a_problem_document_of_a_kind_that_has_a_page(client: httpx.Client) -> None:
    odd = []
    for method, path, operation in operations(document(client)):
        assert {"401", "421", "500", "503"} <= set(operation["responses"])
        for status, answer in operation["responses"].items():
            if status >= "400":
                [(media, content)] = answer["content"].items()
                problem = content["schema"] == {"$ref": "#/components/schemas/Problem"}
                if not (media == "application/problem+json" and problem and "/problems/" in answer["description"]):
                    odd.append(f"{method} {path} {status}")
    assert odd == []


STORY = (
    *("add_channel", "list_channels", "change_channel", "remove_channel"),
    *("add_build", "add_part", "fit_part", "add_wrench", "log_ride", "read_odometer", "log_maintenance_event"),
    *("add_ride_from_track", "add_rides_from_sheet"),
    *("measure_wear", "add_set_up", "set_spec", "set_torque_figure", "plan_part", "start_checklist", "own_tool"),
    *("put_off_part_task", "put_off_build_task", "set_part_rule", "set_build_rule"),
    *(
        "get_me",
        "change_me",
        "get_workshop",
        "list_devices",
        "get_part",
        "get_build",
        "get_ride",
        "get_ride_prompt",
        "get_odometer_reading",
    ),
    *("get_maintenance_event", "get_wear_measurement", "get_checklist", "get_wrench", "get_category"),
    *("list_categories", "list_sources", "list_parts", "list_builds", "list_fittings", "list_plan"),
    *("list_findings", "accept_finding", "cancel_acceptance"),
    *("add_expense", "list_expenses", "get_gearing", "get_chain", "get_spokes", "get_clearance", "get_pressure"),
    *("get_torque", "get_position", "get_cost", "get_mass", "work_out_track"),
    *("work_out_what_if", "work_out_comparison", "get_shopping"),
    *("list_set_ups", "list_checklists", "list_rides", "list_odometer_readings", "list_maintenance_events"),
    *(
        "list_wear_measurements",
        "list_due",
        "list_trouble",
        "add_calendar",
        "list_part_due",
        "list_part_wear",
        "get_tour",
        "list_wrenches",
        "list_tools",
        "read_journal",
    ),
    *("work_out_gear", "work_out_chain_length", "work_out_spoke_length", "work_out_torque_extension"),
    *("work_out_bolt_torque", "work_out_torque_units", "work_out_tyre", "work_out_clearance", "work_out_critical_path"),
    *("draw_category_checklist", "tick_step", "untick_step", "finish_checklist", "change_part", "change_build"),
    *("change_ride", "change_odometer_reading", "change_maintenance_event", "change_wear_measurement"),
    *("change_workshop", "swap_part", "undo_request", "change_fitting", "remove_spec", "remove_torque_figure"),
    *("unplan_part", "cancel_part_put_off", "cancel_build_put_off", "drop_part_rule", "drop_build_rule"),
    *("remove_tool", "remove_wear_measurement", "remove_maintenance_event", "remove_odometer_reading"),
    *("remove_ride", "remove_fitting", "revoke_device"),
)
"""Every operation in an order in which each can be done; what is removed whole has a story of its own."""
OF_THEIR_OWN = (("add_part", "remove_part"), ("add_build", "remove_build"))


class Sender:
    """Sends the examples of the document as they stand in it."""

    def __init__(self, client: httpx.Client) -> None:
        self.client = client
        self.document = document(client)
        self.by_id = {each["operationId"]: (method, path, each) for method, path, each in operations(self.document)}

    def send(self, name: str, **instead: str) -> httpx.Response:
        """The example of one operation; `instead` gives what only the running service knows."""
        method, path, operation = self.by_id[name]
        headers, query = {}, {}
        for parameter in operation.get("parameters", ()):
            example = parameter.get("example")
            if parameter["in"] == "path":
                path = path.replace(f"{{{parameter['name']}}}", instead.get(parameter["name"], str(example)))
            elif parameter["in"] == "header":
                headers["If-Match"] = "*"
            elif example is not None:
                query[parameter["name"]] = example
        for media, content in operation.get("requestBody", {}).get("content", {}).items():
            body, headers["Content-Type"] = content["example"], media
            sent = body if isinstance(body, str) else json.dumps(body)
            return self.client.request(method, path, params=query, headers=headers, content=sent)
        return self.client.request(method, path, params=query, headers=headers)

    def check_shape(self, name: str, answer: httpx.Response) -> None:
        """Fails unless the answer is of a status and shape that the document names."""
        _, _, operation = self.by_id[name]
        told = operation["responses"][str(answer.status_code)]
        if "content" in told:
            schema = told["content"]["application/json"]["schema"] | {"components": self.document["components"]}
            jsonschema_rs.validate(schema, answer.json())
        else:
            assert answer.content == b""


def test_every_operation_is_in_a_story(client: httpx.Client) -> None:
    served = {operation["operationId"] for _, _, operation in operations(document(client))}
    assert {*STORY, *(name for story in OF_THEIR_OWN for name in story)} == served


@pytest.mark.parametrize("story", [STORY, *OF_THEIR_OWN], ids=["all", "a part", "a build"])
def test_every_example_is_sent_and_answered_as_described(
    story: tuple[str, ...], client: httpx.Client, service: Served
) -> None:
    service.now = NOON
    sender = Sender(client)
    ok(client.post(f"{API}/parts", json={"id": STEM, "category": "stem", "name": "Stem"}), 201)
    for name in story:
        if name == "finish_checklist":
            _finish_all(client)
        if name == "accept_finding":
            _fit_a_far_lever(client)
        instead = _known_only_now(client, name)
        lines = journal_lines(service)
        answer = sender.send(name, **instead)
        assert answer.is_success, (name, answer.text)
        sender.check_shape(name, answer)
        changes = answer.request.method != "GET" and not name.startswith("work_out_")
        assert (journal_lines(service) > lines) == changes, name  # a change leaves a line


def _known_only_now(client: httpx.Client, name: str) -> dict[str, str]:
    """What stands in for an example: ids that the service makes."""
    if name == "undo_request":
        return {"request_id": ok(client.get(f"{API}/journal"))["items"][0]["request"]}
    if name == "revoke_device":
        return {"device_id": ok(client.get(f"{API}/devices"))["items"][0]["id"]}
    if name in ("add_channel", "list_channels"):
        return {"person_id": ok(client.get(f"{API}/me"))["person"]["id"]}
    return {}


def journal_lines(service: Served) -> int:
    """How many lines the journal has."""
    with service.database.reading() as session:
        return len(session.execute(select(Journal)).all())


def _fit_a_far_lever(client: httpx.Client) -> None:
    """A conflict that may be accepted, always with the same fingerprint: a lever that no finger reaches."""
    lever = {"id": LEVER, "category": "brake-lever", "name": "Lever", "specs": {"reach_mm": {"number": 110}}}
    ok(client.post(f"{API}/parts", json=lever), 201)
    ok(client.post(f"{API}/builds/{BUILD}/fittings", json={"id": LEVER_FITTED, "part": LEVER, "place": "left"}), 201)


def _finish_all(client: httpx.Client) -> None:
    path = f"{API}/checklists/{examples.CHECKLIST}"
    for _ in range(2):  # what is skipped adds a look of its own
        for step in ok(client.get(path))["steps"]:
            body = {"fingerprint": step["fingerprint"], "state": "skipped", "note": "an exercise"}
            ok(client.put(f"{path}/marks/{step['id']}", json=body))


def test_every_body_has_its_example_and_no_example_is_left_over(client: httpx.Client) -> None:
    served = document(client)
    with_body = {each["operationId"] for _, _, each in operations(served) if "requestBody" in each}
    assert with_body == set(examples.BODIES)
    assert set(examples.QUERIES) | set(examples.OTHER_PATHS) <= set(ids())
    named = {
        each["name"] for _, _, one in operations(served) for each in one.get("parameters", ()) if each["in"] == "path"
    }
    assert named == set(examples.PATHS)
