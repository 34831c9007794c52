"""The library over HTTP: categories, checklists with nothing stored, sources."""

import httpx

from service.domain.procedure import Library
from tests.api.words import API, got, refused


def test_every_category_is_listed_and_read(client: httpx.Client, library: Library) -> None:
    listed = [each["category"] for each in got(client, "/categories")["items"]]
    assert listed == [name for name, each in library.categories.items() if not each.deprecated]
    for name in listed:
        shown = got(client, f"/categories/{name}")
        assert (shown["category"], len(shown["specs"])) == (name, len(library.categories[name].specs))
        assert (shown["grade"], shown["exempt"]) == (library.categories[name].grade, library.categories[name].exempt)
    refused(client.get(f"{API}/categories/saddlebag"), 404, "saddlebag")


def test_every_figure_of_a_category_names_its_basis(client: httpx.Client, library: Library) -> None:
    sources = {each["id"] for each in got(client, "/sources")["items"]}
    assert sources == set(library.sources)
    for each in got(client, "/categories/stem")["fastenings"]:
        assert each["basis"]
        assert each["source"] is None or each["source"] in sources
    sized = [each for each in got(client, "/categories/tyre")["specs"] if each["nominal"] or each["low"] is not None]
    worn = got(client, "/categories/tyre")["wear"]
    assert sized
    assert worn
    assert [each["key"] for each in (*sized, *worn) if not each["basis"]] == []
    assert {each["source"] for each in (*sized, *worn)} - {None} <= sources
    [bead] = [each for each in sized if each["key"] == "bsd_mm"]
    assert (bead["basis"], bead["source"]) == ("trade page", "tyre-sizes-table")


def test_a_category_says_in_the_list_how_far_its_file_is(client: httpx.Client, library: Library) -> None:
    listed = {each["category"]: each["grade"] for each in got(client, "/categories")["items"]}
    assert listed == {name: each.grade for name, each in library.categories.items() if not each.deprecated}
    assert set(listed.values()) <= {"complete", "read through"}


def test_a_checklist_for_a_category_needs_nothing_stored(client: httpx.Client) -> None:
    path = "/categories/cable-disc-caliper/checklist"
    open_ones = {step["id"]: step for step in got(client, path, job="assemble", place="front")["steps"]}
    settled = {step["id"] for step in got(client, path, place="front", **{"spec.moving_pads": "one"})["steps"]}
    fixed, centred = ("cable-disc-caliper.set-fixed-pad@front", "cable-disc-caliper.centre-pads@front")
    assert {fixed, centred} <= set(open_ones)
    assert open_ones[fixed]["undecided"]
    assert (fixed in settled, centred in settled) == (True, False)


def test_what_a_category_does_not_have_is_refused(client: httpx.Client) -> None:
    path = f"{API}/categories/cable-disc-caliper/checklist"
    refused(client.get(path, params={"job": "paint"}), 422, "assemble", pointer="/job")
    refused(client.get(path, params={"spec.moving_pads": "three"}), 400, "one, both")
    refused(client.get(path, params={"spec.colour": "grey"}), 400, "colour")
    refused(client.get(path, params={"place": "middle"}), 400, "front, rear")
    refused(client.get(path, params={"spec.rotor_min_mm": "NaN"}), 400, "number")
    refused(client.get(f"{API}/categories/saddlebag/checklist"), 404, "saddlebag")
