"""Several real processes send each thing once; one that is killed between sending and marking loses nothing."""

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import httpx
import pytest

from service.database import Database
from tests.api.words import build, fit, made, part, ride
from tests.conftest import Served
from tests.receivers import Calls, Letters, calls, letters

pytestmark = pytest.mark.slow
ROOT = Path(__file__).parents[1]
BICYCLES = 4


def begin(database: Database, port: int = 9) -> "subprocess.Popen[str]":
    """`locknut remind` as a process of its own."""
    environ = {name: worth for name, worth in os.environ.items() if not name.startswith("LOCKNUT_")}
    environ |= {
        "LOCKNUT_DATABASE_URL": database.url.render_as_string(hide_password=False),
        "LOCKNUT_SMTP": f"smtp://127.0.0.1:{port}",
        "LOCKNUT_WEBHOOK_PRIVATE": "allowed",
    }
    command = [sys.executable, "-m", "service", "remind", "--json"]
    return subprocess.Popen(command, cwd=ROOT, env=environ, text=True, stdout=subprocess.PIPE, stderr=subprocess.PIPE)


def end(process: "subprocess.Popen[str]") -> dict[str, int]:
    """What it says it did."""
    out, wrong = process.communicate(timeout=90)
    assert process.returncode in (0, 1), wrong
    return dict(json.loads(out))


def pressing_workshop(client: httpx.Client, service: Served, *addresses: tuple[str, str]) -> None:
    """Bicycles that crashed today, and the channels that are told of it at once; no digest falls on these days."""
    now = datetime.now(UTC)
    never = (now + timedelta(days=3)).weekday()
    for kind, address in addresses:
        sent = {"kind": kind, "address": address, "weekly_on": never}
        made(client, f"/people/{service.who.person_id}/channels", **sent)
    for number in range(BICYCLES):
        on = build(client, f"Bicycle {number}", state="in service")
        fit(client, on, part(client, "chain"), at=(now - timedelta(days=2)).isoformat())
        ride(client, on, 10, now - timedelta(days=1))
        made(client, "/maintenance-events", build=on, kind="crashed")
    client.get("/api/v1/builds")


@pytest.fixture
def mail() -> Iterator[Letters]:
    with letters() as kept:
        yield kept


@pytest.fixture
def hook() -> Iterator[Calls]:
    with calls() as kept:
        yield kept


def test_of_several_processes_at_once_each_thing_is_sent_once(
    client: httpx.Client, service: Served, mail: Letters, hook: Calls
) -> None:
    addresses = [("mail", f"rider{number}@home.example") for number in range(5)]
    addresses += [("webhook", hook.address.replace("/hook", f"/hook{number}")) for number in range(5)]
    pressing_workshop(client, service, *addresses)
    done = [end(process) for process in [begin(service.database, mail.port) for _ in range(3)]]
    assert sum(each["sent"] for each in done) == len(addresses)
    assert sorted(str(each["To"]) for each in mail.mails) == sorted(address for kind, address in addresses[:5])
    assert len({headers["idempotency-key"] for headers, _ in hook.calls}) == len(hook.calls) == 5
    assert all(len(body["bicycles"]) == BICYCLES for _, body in hook.calls)
    assert end(begin(service.database, mail.port))["sent"] == 0


@pytest.mark.parametrize("kind", ["mail", "webhook"])
def test_a_process_killed_between_sending_and_marking_repeats_it_under_the_same_id_alone(
    kind: str, client: httpx.Client, service: Served, mail: Letters, hook: Calls
) -> None:
    pressing_workshop(client, service, (kind, "rider@home.example" if kind == "mail" else hook.address))
    killed: list[int] = []
    processes: list[subprocess.Popen[str]] = []

    def kill(_: object) -> None:
        if not killed:  # it has sent everything and waits for the answer: now its power goes
            os.kill(processes[0].pid, signal.SIGKILL)
            killed.append(processes[0].pid)
            time.sleep(0.2)

    mail.before = hook.before = kill
    processes.append(begin(service.database, mail.port))
    processes[0].communicate(timeout=90)
    assert processes[0].returncode == -signal.SIGKILL
    assert end(begin(service.database, mail.port))["sent"] == 0  # the lease of the dead one still runs
    _let_leases_end(service.database)
    assert end(begin(service.database, mail.port))["sent"] == 1
    ids = [str(each["Message-ID"]) for each in mail.mails] + [head["idempotency-key"] for head, _ in hook.calls]
    told = [str(each.get_payload()) for each in mail.mails] + [head["raw"] for head, _ in hook.calls]
    assert (len(ids), len(set(ids)), len(set(told))) == (2, 1, 1)
    assert end(begin(service.database, mail.port))["sent"] == 0


def _let_leases_end(database: Database) -> None:
    """As if five minutes had passed."""
    with database.engine.begin() as connection:
        past = "'2020-01-01 00:00:00+00'" if connection.dialect.name == "postgresql" else "'2020-01-01 00:00:00.000000'"
        connection.exec_driver_sql(f"UPDATE message SET leased_until = {past} WHERE sent_at IS NULL")
