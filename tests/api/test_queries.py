"""A query field that an operation does not have is refused with those it has."""

import httpx
import pytest


@pytest.mark.parametrize(
    ("path", "wanted"),
    [
        ("/builds?stat=planned", "cursor, limit, state"),
        ("/parts?specs.seatpost_mm=27.2", "category, cursor, fits, in_bin, limit, spec.KEY, state"),
        ("/me?name=x", "none"),
        ("/categories/chain/checklist?specs.joint=pin", "fact.KEY, job, place, spec.KEY"),
    ],
)
def test_a_misspelt_query_field_is_named_with_those_there_are(client: httpx.Client, path: str, wanted: str) -> None:
    refused = client.get(f"/api/v1{path}")
    assert refused.status_code == 422
    assert wanted in refused.json()["detail"]


@pytest.mark.parametrize("path", ["/builds?state=planned", "/parts?spec.seatpost_mm=27.2", "/rides?from=2026-01-01"])
def test_the_fields_there_are_go_through(client: httpx.Client, path: str) -> None:
    assert client.get(f"/api/v1{path}").status_code == 200
