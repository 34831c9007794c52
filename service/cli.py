"""The commands: each a few lines over the functions that do the work, imported only when it is called."""

import argparse
import sys
from collections.abc import Sequence

TYPE_CHECKING = False  # importing `typing` for it would make --help a third slower
if TYPE_CHECKING:
    from service.database import Database
    from service.records.people import Who
    from service.settings import Settings


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; the answer is the exit code.

    0 done; 1 mistakes found, or refused; 2 wrongly called, or a setting or a port that cannot be used.
    """
    parser = argparse.ArgumentParser(
        prog="locknut",
        description="Assemble a bicycle and keep it running.",
        epilog="Exit codes: 0 done; 1 mistakes found, or refused; 2 wrongly called, or a setting or port of no use.",
    )
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    _add_serve(commands)
    _add_demo(commands)
    _add_due(commands)
    _add_remind(commands)
    _add_import_rides(commands)
    _add_check(commands)
    _add_migrate(commands)
    _add_person(commands)
    given = parser.parse_args(arguments)
    return _run(given)


def _run(given: argparse.Namespace) -> int:
    from service.errors import Refusal

    try:
        code: int = given.run(given)
    except Refusal as refusal:
        print(f"locknut {given.command}: {refusal}", file=sys.stderr)
        return 2 if refusal.code == "port-taken" else 1
    except WrongSetting as wrong:
        print(f"locknut {given.command}: {wrong}", file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        return 130
    return code


class WrongSetting(Exception):
    """A variable of the environment that cannot be used."""


def settings() -> "Settings":
    """The settings of this environment. Raises WrongSetting."""
    import os

    from service.settings import read_settings

    try:
        return read_settings(os.environ)
    except ValueError as wrong:
        raise WrongSetting(str(wrong)) from None


def open_database(given: "Settings") -> "tuple[Database, Who]":
    """The database, brought up to date, and the owner of its workshop; all is made where there is nothing yet."""
    from service.database import Database
    from service.records import people

    database = Database(given.database_url)
    copy = database.migrate()
    if copy:
        print(f"The database was brought up to date; a copy of what it was: {copy}", file=sys.stderr)
    with database.writing() as session:
        who = people.open_workshop(session, time_zone=given.time_zone, currency=given.currency)
    return database, who


def _add_serve(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    parser = commands.add_parser("serve", help="serve the pages and the API on this machine")
    parser.add_argument("--port", type=_port, help="the port (default: LOCKNUT_PORT, else 8417)")
    parser.set_defaults(run=_serve)


def _port(text: str) -> int:
    if not (text.isascii() and text.isdigit() and 0 < int(text) < 65536):
        raise argparse.ArgumentTypeError("should be a whole number from 1 to 65535")
    return int(text)


def _serve(given: argparse.Namespace) -> int:
    chosen = settings()
    serve(chosen, given.port or chosen.port)
    return 0


def serve(chosen: "Settings", port: int, *, demo: tuple[str, str] | None = None) -> None:
    """Serves until it is told to stop; says a sign-in link where nobody is signed in yet.

    The demo always has a link, and something to say before and after it.
    """
    import gc

    gc.disable()  # looking for garbage while everything is loaded costs a seventh of the start; the lifespan enables it
    from service import serving
    from service.records import people

    listening = serving.listen(port)
    database, who = open_database(chosen)
    config = serving.loaded(chosen.workers)
    base = serving.base_address(chosen.address, port)
    with database.reading() as session:
        is_wanted = demo is not None or not people.list_devices(session, who)
    link = serving.sign_in_link(database, base, who.person_id) if is_wanted else None
    database.dispose()
    before, after = demo or ("", "")

    def ready() -> None:
        _say(f"Locknut is served at {base} (Ctrl-C stops it).")
        if before:
            _say(before)
        if link:
            serving.show_link(link, _say)
        if after:
            _say(after)

    serving.run(listening, config, ready)


def _say(text: str) -> None:
    print(text, flush=True)


def _add_demo(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    parser = commands.add_parser("demo", help="build an invented workshop of three bicycles, and serve it")
    parser.add_argument("--port", type=_port, help="the port (default: LOCKNUT_PORT, else 8417)")
    parser.add_argument("--database", help="where it is kept (default: demo.db in your data folder), as a path or URL")
    parser.set_defaults(run=_demo)


def _demo(given: argparse.Namespace) -> int:
    import os
    from datetime import UTC, datetime

    from service import serving
    from service.database import Database
    from service.demo.scenario import open_demo
    from service.demo.start import another_link, what_to_open
    from service.library.read import load, procedures_folder

    # The serving processes read the environment too: so they see the demo's database, never the real one.
    os.environ["LOCKNUT_DATABASE_URL"] = _demo_url(given.database)
    chosen = settings()
    port = given.port or chosen.port
    serving.listen(port).close()  # a port in use is said before anything is built
    _say("The demo workshop is built where it is not there yet; that takes some seconds ...")
    database = Database(chosen.database_url)
    database.migrate()
    library = load(procedures_folder(), chosen.procedures)
    first = open_demo(database, library, time_zone=chosen.time_zone, now=datetime.now(UTC))
    database.dispose()
    base = serving.base_address(chosen.address, port)
    serve(chosen, port, demo=(what_to_open(base, first), another_link(chosen, port)))
    return 0


def _demo_url(given: str | None) -> str:
    """The database that was named, as a path or an address; else demo.db beside the usual one."""
    import os
    from pathlib import Path

    from service.settings import read_settings

    if given is not None:
        return given if "://" in given else f"sqlite:///{Path(given).absolute()}"
    usual = read_settings({name: text for name, text in os.environ.items() if not name.startswith("LOCKNUT_")})
    return f"{usual.database_url.rpartition('/')[0]}/demo.db"


def _add_due(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    parser = commands.add_parser("due", help="print what is due, the most pressing bicycle first")
    parser.add_argument("--json", action="store_true", help="as the API gives it")
    parser.add_argument("--build", metavar="NAME", help="of this bicycle alone")
    parser.set_defaults(run=_due)


def _due(given: argparse.Namespace) -> int:
    from datetime import UTC, datetime

    from service import printing
    from service.library.read import load, procedures_folder

    chosen = settings()
    database, who = open_database(chosen)
    library, now = load(procedures_folder(), chosen.procedures), datetime.now(UTC)
    with database.reading() as session:
        found = printing.find_due(session, who, library, now=now, name=given.build)
    for line in [printing.json_of(found)] if given.json else printing.lines_of(found, who.today(now)):
        print(line)
    return 0


def _add_import_rides(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    parser = commands.add_parser(
        "import-rides",
        help="store the rides of GPX and CSV files; a file again is once",
        description="Store the rides of GPX and CSV files, each file whole or not at all; the same file again is once.",
    )
    parser.add_argument("files", nargs="+", metavar="FILE", help="a recorded track (GPX), or a list (CSV)")
    parser.add_argument("--build", required=True, metavar="NAME", help="the bicycle that was ridden")
    parser.add_argument(
        "--columns", action="append", default=[], metavar="USE=NAME",
        help="of a CSV file, once for each: when, time_of_day, distance, moving_time, climb, conditions_column, note; "
        "and distance_unit (km, m, mi), moving_time_unit, climb_unit, date_order, decimal (default: found out)",
    )  # fmt: skip
    parser.add_argument("--conditions", default="dry", help="dry, dusty, wet, gritty, salted, indoor or roller")
    parser.add_argument("--loaded", action="store_true", help="15 kg of luggage or more, or a trailer")
    parser.add_argument("--descents", action="store_true", help="long descents, or stop-and-go in town")
    parser.add_argument("--day", help="the day of a track without times, as 2026-05-04")
    parser.add_argument("--repeats", choices=("leave-out", "keep"), default="ask", help="rows that look twice")
    parser.add_argument("--sure", action="store_true", help="days of more than 2,000 km are right")
    parser.add_argument("--leave-out-wrong", action="store_true", help="store the right rows although others are wrong")
    parser.add_argument("--dry-run", action="store_true", help="store nothing, say what would be stored")
    parser.add_argument("--json", action="store_true", help="what became of each file, for scripts")
    parser.set_defaults(run=_import_rides)


def _import_rides(given: argparse.Namespace) -> int:
    from datetime import UTC, datetime
    from pathlib import Path

    from service import importing_rides
    from service.library.read import load, procedures_folder

    order = importing_rides.order_of(vars(given))
    chosen = settings()
    database, who = open_database(chosen)
    library = load(procedures_folder(), chosen.procedures)
    importing = importing_rides.Importing(database, who, library, order, datetime.now(UTC))
    all_told = []
    for told in importing.files([Path(file) for file in given.files]):
        all_told.append(told)
        for line in [] if given.json else importing_rides.lines_of(told):
            print(line, file=sys.stderr if told.is_refused else sys.stdout, flush=True)
    if given.json:
        print(importing_rides.json_of(all_told))
    return int(any(told.is_refused for told in all_told))


def _add_remind(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    parser = commands.add_parser("remind", help="send what is due to where people want it; for a timer")
    parser.add_argument("--json", action="store_true", help="what was done, for scripts")
    parser.set_defaults(run=_remind)


def _remind(given: argparse.Namespace) -> int:
    import json
    from dataclasses import asdict
    from datetime import UTC, datetime

    from service import sending
    from service.library.read import load, procedures_folder

    chosen = settings()
    database, _who = open_database(chosen)
    library = load(procedures_folder(), chosen.procedures)
    done = sending.remind(database, library, sending.post_of(chosen), lambda: datetime.now(UTC))
    failed = f", {done.failed} did not arrive: the page of reminders says why" if done.failed else ""
    print(json.dumps(asdict(done)) if given.json else f"{done.sent} sent{failed}.")
    return int(done.failed > 0)


def _add_migrate(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    parser = commands.add_parser("migrate", help="bring the database up to date; a file is copied first")
    parser.set_defaults(run=_migrate)


def _migrate(_given: argparse.Namespace) -> int:
    database, _who = open_database(settings())
    print(f"The database at {database.shown} is up to date.")
    return 0


def _add_person(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    parser = commands.add_parser("person", help="sign somebody in: a link for a browser, a token for a program")
    actions = parser.add_subparsers(dest="action", required=True, metavar="link|token")
    for action, says, run in (
        ("link", "print a link that signs one browser in, once, within 15 minutes", _person_link),
        ("token", "print a bearer token for curl and scripts, and nothing else", _person_token),
    ):
        one = actions.add_parser(action, help=says, description=says.capitalize() + ".")
        one.add_argument("name", nargs="?", help="the person (default: the owner of the workshop)")
        one.set_defaults(run=run)


def _person_link(given: argparse.Namespace) -> int:
    from service import serving

    chosen = settings()
    database, who = _person(chosen, given.name)
    base = serving.base_address(chosen.address, chosen.port)
    serving.show_link(serving.sign_in_link(database, base, who.person_id), _say)
    return 0


def _person_token(given: argparse.Namespace) -> int:
    from datetime import UTC, datetime

    from service.records import people

    database, who = _person(settings(), given.name)
    with database.writing() as session:
        print(people.add_device(session, who.person_id, title="Token", kind="token", now=datetime.now(UTC)))
    return 0


def _person(chosen: "Settings", name: str | None) -> "tuple[Database, Who]":
    from service.records import people

    database, owner = open_database(chosen)
    if name is None:
        return database, owner
    with database.reading() as session:
        return database, people.who_is(session, name)


def _add_check(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    parser = commands.add_parser("check", help="look for mistakes in the procedures")
    parser.add_argument("folder", nargs="?", help="the procedures to check (default: those of the program)")
    parser.add_argument(
        "--own", help="a folder of your own, laid over them (default: LOCKNUT_PROCEDURES, without FOLDER)"
    )
    parser.add_argument("--strict", action="store_true", help="the warnings that are shown fail too")
    parser.add_argument("--write-order", action="store_true", help="write the reference order anew, then check")
    parser.set_defaults(run=_check)


def _check(given: argparse.Namespace) -> int:
    from pathlib import Path

    from service.library.check import check, write_order
    from service.library.read import procedures_folder

    folder = Path(given.folder) if given.folder else procedures_folder()
    own = Path(given.own) if given.own else None
    without = "without --own"
    if own is None and not given.folder and not given.write_order:
        own, without = settings().procedures, "with LOCKNUT_PROCEDURES unset"
        if own is not None:
            print(f"LOCKNUT_PROCEDURES is laid over the program's own procedures: {own}")
    for each in (folder, own):
        if each is not None and not each.is_dir():
            print(f"locknut check: there is no folder {each}", file=sys.stderr)
            return 2
    if given.write_order:
        print(f"Written: {write_order(folder)}")
    mistakes = check(folder, own)
    shown = [each for each in mistakes if own is None or not each.warning or each.file.is_relative_to(own)]
    for mistake in shown:
        print(mistake.shown(folder.parent))
    wrong = sum(not mistake.warning for mistake in shown)
    print(f"{wrong} mistakes, {len(shown) - wrong} warnings.")
    if len(shown) < len(mistakes):
        hidden = len(mistakes) - len(shown)
        print(f"… and {hidden} warnings in the program's own procedures (see them {without}).")
    return 1 if wrong or (given.strict and shown) else 0
