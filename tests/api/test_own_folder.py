"""A person's own folder that takes from the safety of the procedures: allowed, and said for the bicycle it concerns."""

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest

from service.domain.procedure import Library
from service.library.read import load, procedures_folder
from tests.api.words import API, NOON, build, fit, got, made, ok, part, plan, specs, start
from tests.conftest import Served

CALLIPER = "cable-disc-caliper"
Lay = Callable[..., Library]


@pytest.fixture
def lay(service: Served, tmp_path: Path) -> Iterator[Lay]:
    """Lays a file that changes a category over the procedures that are served."""
    kept, service.now = service.app.state.library, NOON

    def laid(text: str, name: str = "own") -> Library:
        file = tmp_path / "own/categories" / f"{name}.toml"
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(text)
        service.app.state.library = load(procedures_folder(), tmp_path / "own")
        return load(procedures_folder(), tmp_path / "own")

    yield laid
    service.app.state.library = kept


@pytest.fixture
def braked(client: httpx.Client) -> str:
    """A bicycle with a fork and a cable disc calliper planned on it."""
    on = build(client)
    plan(client, on, part(client, "fork", specs=specs(brake_mount="post")))
    plan(client, on, part(client, CALLIPER, specs=specs(mount="post", moving_pads="one")), "front")
    return on


def said(client: httpx.Client, on: str, job: str = "assemble", **sent: Any) -> str:
    """What a checklist says of a mechanic, the same on the page at the stand and on the sheet."""
    open_jobs = got(client, f"/builds/{on}/checklists")["items"]
    checklist = got(client, f"/checklists/{open_jobs[0]['id']}") if open_jobs else start(client, on, job, **sent)
    words = checklist["needs_mechanic"] or ""
    for page in (f"/checklists/{checklist['id']}", f"/checklists/{checklist['id']}/list"):
        shown = client.get(page)
        assert shown.status_code == 200
        assert ("Before it is ridden" in shown.text) is bool(words), page
        assert all(each in shown.text for each in words.split("; ")), page
    return words


def step(library: Library, category: str, key: str, **instead: str) -> str:
    """A step as TOML, as the program has it, with some of its lines written otherwise."""
    own = next(each for each in library.categories[category].steps if each.key == key)
    lines = {
        "key": f'"{key}"',
        "title": f'"{own.title}"',
        "text": '"Otherwise."',
        "minutes": "1",
        "safety": "true",
        "jobs": str(list(own.jobs)).replace("'", '"'),
        "gives": str(list(own.gives)).replace("'", '"'),
        "fastenings": str(list(own.fastenings)).replace("'", '"'),
        "cautions": "[" + ", ".join(f"'''{each}'''" for each in own.cautions) + "]",
    }
    lines |= instead
    if own.records and "records" not in instead:
        lines["records"] = "[" + ", ".join(_record(each) for each in own.records if not isinstance(each, str)) + "]"
    text = "".join(f"{name} = {value}\n" for name, value in lines.items())
    return f'changes = "{category}"\n[[steps]]\n{text}'


def _record(record: Any) -> str:
    limits = "".join(f", {end} = {getattr(record, end)}" for end in ("low", "high") if getattr(record, end) is not None)
    more = ", text = true" if record.text else ""
    return f"{{ into = '{record.into}', title = '''{record.title}'''{limits}{more} }}"


def test_nothing_is_said_where_nothing_is_taken(client: httpx.Client, lay: Lay, braked: str, library: Library) -> None:
    lay(step(library, CALLIPER, "tighten"))
    assert said(client, braked) == ""


def test_a_dropped_safety_step_is_said_on_the_bicycle_that_had_it(client: httpx.Client, lay: Lay, braked: str) -> None:
    lay(f'changes = "{CALLIPER}"\ndrop = ["steps.tighten"]\n')
    words = said(client, braked)
    assert "A qualified mechanic should look this bicycle over" in words
    assert "left out by your own files: Tighten the front calliper" in words
    assert "rear" not in words
    without = build(client)
    plan(client, without, part(client, "fork"))
    assert said(client, without) == ""


def test_a_job_that_never_had_the_step_says_nothing(client: httpx.Client, lay: Lay, braked: str) -> None:
    lay(f'changes = "{CALLIPER}"\ndrop = ["steps.tighten"]\n')
    bar = part(client, "handlebar")
    fit(client, braked, bar)
    assert "calliper" not in said(client, braked, "service", task="handlebar.look", about_part=bar)


@pytest.mark.parametrize(
    ("instead", "words"),
    [
        ({"safety": "false"}, "no longer marked as safety by your own files: "),
        ({"when": '{ moving_pads = "both" }'}, "left out by your own files: "),
        ({"jobs": '["service"]'}, "left out by your own files: "),
        ({"cautions": "[]"}, "a caution taken out by your own files: "),
        ({"records": "[]"}, "no longer asked for by your own files: "),
        ({"fastenings": "[]"}, "a torque taken out by your own files: "),
    ],
)
def test_a_safety_step_that_is_weakened_is_said(
    client: httpx.Client, lay: Lay, braked: str, library: Library, instead: dict[str, str], words: str
) -> None:
    lay(step(library, CALLIPER, "tighten", **instead))
    assert words in said(client, braked)


def test_what_never_applied_to_these_parts_is_not_missed(
    client: httpx.Client, lay: Lay, braked: str, library: Library
) -> None:
    lay(step(library, CALLIPER, "tighten", when='{ mount = ["post", "flat"] }'))
    assert said(client, braked) == ""


def test_a_torque_above_the_programs_is_said_unless_the_maker_gives_one(
    client: httpx.Client, lay: Lay, braked: str, library: Library
) -> None:
    [bolt] = [
        each
        for each in library.categories[CALLIPER].fastenings
        if each.key == "mount-bolt" and "post" in str(each.when)
    ]
    when = "{ " + ", ".join(f"{name} = {value!r}" for name, value in bolt.when.items()) + " }"
    own = f'changes = "{CALLIPER}"\n[[fastenings]]\nkey = "mount-bolt"\ntitle = "Mounting bolts"\nwhen = {when}\n'
    lay(f'{own}between = ["{CALLIPER}", "host"]\nlow_nm = 6\nhigh_nm = 14\nbasis = "from memory"\n')
    assert f"up to 14 N·m where the program has {bolt.high_nm:g}" in said(client, braked)
    lay(f'{own}between = ["{CALLIPER}", "host"]\nlow_nm = 5\nhigh_nm = 6\nbasis = "from memory"\n')
    assert said(client, braked) == ""


def test_a_conflict_that_is_no_longer_seen_is_said(client: httpx.Client, lay: Lay) -> None:
    on = build(client)
    plan(client, on, part(client, "brake-lever", specs=specs(works_brake="front", pull_family="long")), "left")
    plan(client, on, part(client, CALLIPER, specs=specs(pull_family="short")), "front")
    joins = [each["join"] for each in got(client, f"/builds/{on}/findings")["items"] if each["answer"] == "conflicts"]
    [key] = {join.partition("@")[0].partition(".")[2] for join in joins if join.startswith(f"{CALLIPER}.")}
    lay(f'changes = "{CALLIPER}"\ndrop = ["joins.{key}"]\n')
    assert "a conflict no longer seen by your own files: " in said(client, on)


def test_steps_taken_from_another_file_are_missed_too(client: httpx.Client, lay: Lay, library: Library) -> None:
    lever = library.categories["combined-lever"]
    by_key = {each.key: each for each in library.categories["brake-lever"].steps}
    safe = next(name for name in lever.takes if name.startswith("brake-lever.") and by_key.get(name[12:]) is not None
                and by_key[name[12:]].safety)  # fmt: skip
    left = [name for name in lever.takes if name != safe]
    lay(f'changes = "combined-lever"\ntakes = {left}\n'.replace("'", '"'))
    on = build(client)
    plan(client, on, part(client, "combined-lever", specs=specs(works_brake="front", works_gear="front")), "left")
    assert "left out by your own files: " in said(client, on)


def test_the_checklist_without_a_build_says_it_too(client: httpx.Client, lay: Lay) -> None:
    lay(f'changes = "{CALLIPER}"\ndrop = ["steps.tighten"]\n')
    drawn = got(client, f"/categories/{CALLIPER}/checklist", job="assemble", place="front")
    assert "left out by your own files: Tighten the front calliper" in drawn["needs_mechanic"]


def test_parts_of_a_category_whose_file_is_gone_break_no_page(
    client: httpx.Client, lay: Lay, service: Served, library: Library
) -> None:
    text = 'category = "mirror"\ntitle = "Mirror"\ninto = ["build"]\nstage = "finish"\n'
    text += '[[specs]]\nkey = "clamp_mm"\ntitle = "Clamp"\nkind = "number"\nmeasure = "m"\n'
    text += '[[steps]]\nkey = "fit"\ntitle = "Fit"\ntext = "On."\nfits = true\nminutes = 5\n'
    text += (
        '[[tasks]]\nkey = "hold"\ntitle = "Hold"\nevery = { days = 30 }\nweight = "comfort"\nbasis = "from memory"\n'
    )
    lay(text, "mirror")
    on = build(client)
    mirror = part(client, "mirror", specs=specs(clamp_mm=22))
    fit(client, on, mirror)
    job = start(client, on)["id"]
    made(client, "/maintenance-events", part=mirror, kind="inspected", tasks=["mirror.hold"])
    service.app.state.library = library
    pages = ["/", "/due", "/parts", f"/parts/{mirror}", f"/parts/{mirror}/facts", f"/builds/{on}", f"/builds/{on}/fit"]
    pages += [f"/builds/{on}/due", f"/builds/{on}/log", f"/builds/{on}/jobs", f"/parts/{mirror}/take-off"]
    pages += [f"/checklists/{job}", f"/checklists/{job}/list"]
    assert {page: client.get(page).status_code for page in pages} == dict.fromkeys(pages, 200)
    answers = [f"/builds/{on}", f"/builds/{on}/findings", "/due", f"/parts/{mirror}", f"/checklists/{job}"]
    assert {path: client.get(API + path).status_code for path in answers} == dict.fromkeys(answers, 200)


def test_facts_that_an_own_file_gave_another_kind_break_no_page(
    client: httpx.Client, lay: Lay, library: Library
) -> None:
    on = build(client)
    saddle = part(client, "saddle", specs=specs(max_rider_mass_kg=120))
    fit(client, on, saddle)
    ok(client.get(f"{API}/builds/{on}/findings"))
    lay(
        'changes = "saddle"\n[[specs]]\nkey = "max_rider_mass_kg"\ntitle = "Most"\nkind = "choice"\n'
        'measure = "m"\nchoices = { much = "m", little = "l" }\n'
    )
    pages = [
        f"/parts/{saddle}",
        f"/parts/{saddle}/facts",
        f"/builds/{on}",
        f"/checklists/{start(client, on)['id']}/list",
    ]
    assert {page: client.get(page).status_code for page in pages} == dict.fromkeys(pages, 200)
    ok(client.get(f"{API}/builds/{on}/findings"))
