"""README.md tells the truth: its story with curl runs as printed, and what it names is there."""

import os
import re
import shutil
import subprocess
from pathlib import Path
from typing import Any

import httpx
import pytest

from service import cli
from service.settings import read_settings, variables
from tests.conftest import NOW, Served

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text("utf-8")
PRINTED = "http://127.0.0.1:8417"
ONE_DATABASE = pytest.mark.parametrize("database", ["sqlite"], indirect=True)
STAND_IN = """
scripts/locknut() {
  case "$*" in
    "person token") echo "$GIVEN_TOKEN" ;;
    serve) exec sleep 60 ;;
    *) echo "scripts/locknut $*: not in the story" >&2; return 2 ;;
  esac
}
trap 'kill $!' EXIT
"""
"""The test serves already and has a token; every other command runs as it is printed."""


def section(title: str) -> str:
    """What stands under a heading of README.md."""
    return README.partition(f"\n## {title}\n")[2].partition("\n## ")[0]


def story() -> str:
    """The shell story of the section about curl."""
    [block] = re.findall(r"^```sh\n(.*?)^```$", section("With curl"), re.MULTILINE | re.DOTALL)
    return str(block)


def rows(first: str) -> list[list[str]]:
    """The cells of all rows of tables that begin with this word, as code."""
    lines = re.findall(rf"^\| `({first}.*) \|$", section("Commands and settings"), re.MULTILINE)
    return [[cell.strip("` ") for cell in line.split(" | ")] for line in lines]


def run(script: str, served: Served, folder: Path) -> "subprocess.CompletedProcess[str]":
    """Runs a script in bash, its service and its token those of the test."""
    assert PRINTED in script
    clean = {name: text for name, text in os.environ.items() if not name.lower().endswith("_proxy")}
    return subprocess.run(
        ["bash", "-euo", "pipefail", "-c", STAND_IN + script.replace(PRINTED, served.address)],
        cwd=folder,
        env=clean | {"GIVEN_TOKEN": served.token},
        capture_output=True,
        text=True,
        timeout=60,
    )


def got(client: httpx.Client, path: str) -> Any:
    """What a GET answers."""
    answer = client.get(f"/api/v1/{path}")
    assert answer.status_code == 200, answer.text
    return answer.json()


@pytest.mark.skipif(not shutil.which("bash") or not shutil.which("curl"), reason="the story needs bash and curl")
@ONE_DATABASE
def test_the_story_with_curl_runs_as_printed(service: Served, client: httpx.Client, tmp_path: Path) -> None:
    service.now = NOW  # soon after the days that the story names
    told = run(story(), service, tmp_path)
    assert told.returncode == 0, told.stdout + told.stderr
    assert "/problems/" not in told.stdout
    assert told.stderr == ""
    [build] = got(client, "builds")["items"]
    parts = {each["name"]: got(client, f"parts/{each['id']}") for each in got(client, "parts")["items"]}
    _the_tick_fitted_the_planned_part_and_its_makers_torque_governs(client, build["id"], parts)
    _the_distance_stayed_where_it_was_ridden(client, build["id"])


def _the_tick_fitted_the_planned_part_and_its_makers_torque_governs(
    client: httpx.Client, build: str, parts: dict[str, Any]
) -> None:
    calliper = parts["Cable calliper, front"]
    assert (calliper["on"]["build"], calliper["on"]["place"]) == (build, "front")
    [listed] = got(client, f"builds/{build}/checklists")["items"]
    checklist = got(client, f"checklists/{listed['id']}")
    steps = {step["id"]: step for step in checklist["steps"]}
    assert steps["cable-disc-caliper.hang@front"]["state"] == "done"
    torques = {each["fastening"]: each for each in steps["cable-disc-caliper.tighten@front"]["torques"]}
    torque = torques["cable-disc-caliper.mount-bolt"]
    assert (torque["low_nm"], torque["high_nm"]) == (6, 7)
    assert torque["general"]["basis"]
    assert checklist["tools"]


def _the_distance_stayed_where_it_was_ridden(client: httpx.Client, build: str) -> None:
    listed = [each for each in got(client, "parts")["items"] if each["category"] in ("chain", "cassette")]
    parts = [got(client, f"parts/{each['id']}") for each in listed]
    km = {(part["category"], part["on"] is not None): part["km"]["least"] for part in parts}
    assert km == {("chain", False): 42, ("chain", True): 0, ("cassette", True): 42}
    [due] = got(client, f"due?build={build}")["items"]
    tasks = {each["task"]: each for each in due["items"]}
    assert tasks["cassette.skip-test"]["state"] == "due"  # a new chain may skip on old sprockets
    assert "0 of 300 km" in tasks["chain.lubricate"]["why"]


@ONE_DATABASE
def test_a_command_that_is_refused_is_seen(service: Served, tmp_path: Path) -> None:
    told = run(f"{story()}\nask $API/builds -d '{{}}'\n", service, tmp_path)
    assert "/problems/malformed" in told.stdout


@ONE_DATABASE
def test_every_address_that_is_named_answers(client: httpx.Client) -> None:
    known = [re.sub(r"\{[^}]*\}", "[^/]+", path) for path in got(client, "openapi.json")["paths"]]
    told = {path.rstrip("/") for path in re.findall(r"\$API(/[^\s\"'?)`]+)", section("With curl"))}
    assert len(told) > 8
    assert [path for path in told if not any(re.fullmatch(each, f"/api/v1{path}") for each in known)] == []
    for path in re.findall(r"`(/api[^\s`]*)`", README):
        assert client.get(path).status_code == 200, path
    [query] = re.findall(r"`ask \"\$API/(categories/[^\"]*)\"`", README)
    assert got(client, query)["steps"]


def test_the_settings_are_those_that_are_read() -> None:
    told = {name: default for name, default, _ in rows("LOCKNUT_")}
    assert set(told) == set(variables())
    usual = read_settings({"HOME": "/home/someone"})
    for name in ("port", "currency", "workers"):
        assert told[f"LOCKNUT_{name.upper()}"] == str(getattr(usual, name))
    for name in ("procedures", "address"):
        assert (told[f"LOCKNUT_{name.upper()}"], getattr(usual, name)) == ("none", None)
    named = set(re.findall(r"LOCKNUT_[A-Z_]+", README))
    assert named <= set(variables())


@pytest.mark.parametrize("told", [row[0] for row in rows("locknut ")])
def test_each_command_takes_what_is_told(told: str, capsys: pytest.CaptureFixture[str]) -> None:
    words = re.findall(r"^locknut ([a-z-]+(?: [a-z]+)?)", told)[0].split()
    with pytest.raises(SystemExit) as ended:
        cli.main([*words, "--help"])
    assert ended.value.code == 0
    said = capsys.readouterr().out
    assert [option for option in re.findall(r"--[a-z-]+", told) if option not in said] == []


def test_every_command_of_the_program_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        cli.main(["--help"])
    known = set(re.findall(r"^ {4}([a-z-]+)(?: |$)", capsys.readouterr().out, re.MULTILINE))
    assert known == {row[0].split()[1] for row in rows("locknut ")}


def test_scripts_pictures_and_pages_that_are_named_exist() -> None:
    scripts = set(re.findall(r"\bscripts/[a-z]+", README))
    assert {"scripts/demo", "scripts/test"} <= scripts
    assert [name for name in scripts if not os.access(ROOT / name, os.X_OK)] == []
    links = re.findall(r"\]\((?!http)([^)#]+)\)", README)
    files = re.findall(r"`((?:docs|procedures)/[^`\s]*)`", README)
    assert [name for name in (*links, *files) if not (ROOT / name).exists()] == []
    assert str(read_settings({"HOME": "/home/someone"}).port) in PRINTED


def test_the_number_of_categories_is_the_one_of_the_library() -> None:
    files = [path.read_text("utf-8") for path in (ROOT / "procedures/categories").glob("*.toml")]
    categories = [text for text in files if re.search(r'^category = "', text, re.MULTILINE)]
    [told] = re.findall(r"the (\d+) categories", README)
    assert int(told) == len(categories)
