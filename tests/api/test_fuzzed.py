"""Every operation is sent what its description allows and what it does not: never 500, always as described."""

import json
from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, settings
from schemathesis.checks import not_a_server_error
from schemathesis.config import SchemathesisConfig
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    negative_data_rejection,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from service.api.examples import BODIES
from service.app import description
from tests.api.words import API, NOON, ONE_DATABASE, ok
from tests.conftest import Served

EXAMPLES = 10  # for each operation: all of them together stay under 40 s on two cores
CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    negative_data_rejection,
]
# Its walk over all boundary values is made while tests are collected, wanted or not: ten seconds of every run.
CONFIG = SchemathesisConfig.from_dict({"phases": {"coverage": {"enabled": False}}})
_DESCRIBED = json.loads(description())
_DESCRIBED.pop("security")  # every request here is signed in; who is not is asked of every route elsewhere
document = schemathesis.openapi.from_dict(_DESCRIBED, config=CONFIG)


@pytest.fixture
def filled(service: Served) -> Served:
    """A workshop in which the ids of the examples stand for something."""
    service.now = NOON
    with service.client() as client:
        ok(client.post(f"{API}/builds", json=BODIES["add_build"]), 201)
        ok(client.post(f"{API}/parts", json=BODIES["add_part"]), 201)
        ok(client.post(f"{API}/builds/{BODIES['add_build']['id']}/fittings", json=BODIES["fit_part"]), 201)
        ok(client.post(f"{API}/rides", json=BODIES["log_ride"]), 201)
    return service


@pytest.mark.slow
@ONE_DATABASE
@document.parametrize()
@settings(
    max_examples=EXAMPLES,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow, HealthCheck.filter_too_much],
)
def test_an_operation_answers_as_described_whatever_it_is_sent(case: schemathesis.Case[Any], filled: Served) -> None:
    answer = case.call(base_url=filled.address, headers={"Authorization": f"Bearer {filled.token}"})
    case.validate_response(answer, checks=CHECKS)
