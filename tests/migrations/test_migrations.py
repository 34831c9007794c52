"""Migrations: they make what the tables say, keep every row, do all or nothing, and refuse what they do not know."""

import os
import re
import shutil
import sqlite3
import threading
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from sqlmodel import SQLModel

from service import database as database_file
from service.database import Database, known_revisions
from service.errors import Refusal, WrongDatabase
from service.ids import new_id
from service.tables import Device, Person
from tests.conftest import NOW

STARTS = 8


@pytest.fixture
def steps(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of the migrations that a test may add to."""
    copied = tmp_path / "migrations"
    shutil.copytree(database_file.MIGRATIONS, copied)
    monkeypatch.setattr(database_file, "MIGRATIONS", copied)
    return copied


def _write_step(steps: Path, body: str) -> str:
    last = known_revisions()[-1]
    name = f"{int(last) + 1:04}"
    (steps / "versions" / f"{name}_next.py").write_text(
        f'import sqlalchemy as sa\nfrom alembic import op\n\nrevision = "{name}"\ndown_revision = "{last}"\n'
        f"branch_labels = None\ndepends_on = None\n\n\ndef upgrade():\n    {body}\n"
    )
    return name


def test_from_nothing_they_make_the_tables_exactly(database: Database) -> None:
    with database.engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, SQLModel.metadata) == []
        assert database.revision() == known_revisions()[-1]


def test_they_make_every_check_and_partial_index(template: Path, tmp_path: Path) -> None:
    """What a comparison passes over: conditions of checks, indexes with a where, cascades."""
    made = sqlite3.connect(template)
    plain = sa.create_engine(f"sqlite:///{tmp_path / 'plain.db'}")
    SQLModel.metadata.create_all(plain)
    wanted = sqlite3.connect(tmp_path / "plain.db")
    try:
        assert _statements(made) == _statements(wanted)
    finally:
        made.close()
        wanted.close()
        plain.dispose()


def _statements(connection: sqlite3.Connection) -> set[str]:
    rows = connection.execute("SELECT sql FROM sqlite_master WHERE sql IS NOT NULL AND tbl_name <> 'alembic_version'")
    lines = {line for (sql,) in rows for line in re.split(r",\s*\n", sql.replace("\t", "").replace('"', ""))}
    return {re.sub(r"\s+", " ", line).strip(" )") for line in lines}


def test_what_the_program_calls_its_last_step_is_alembics(template: Path) -> None:
    from alembic.config import Config
    from alembic.script import ScriptDirectory

    config = Config()
    config.set_main_option("script_location", str(database_file.MIGRATIONS))
    assert ScriptDirectory.from_config(config).get_current_head() == known_revisions()[-1]


def test_an_old_database_keeps_every_row_and_a_copy(steps: Path, template: Path, tmp_path: Path) -> None:
    path = tmp_path / "locknut.db"
    shutil.copyfile(template, path)
    database = Database(f"sqlite:///{path}")
    person_id = new_id()
    with database.writing() as session:
        session.add(Person(id=person_id, name="Rider"))
        device: dict[str, Any] = {"title": "Phone", "kind": "browser", "may": "own", "made_at": NOW}
        session.add_all([Device(id=new_id(), person_id=person_id, secret_hash=str(n), **device) for n in range(3)])
    # the whole table is made anew: with references switched on, this emptied the table that points at it
    name = _write_step(
        steps,
        'with op.batch_alter_table("person", recreate="always") as batch: batch.alter_column("name", type_=sa.Text())',
    )
    copy = database.migrate()
    assert copy is not None
    assert database.revision() == name
    for each in (path, Path(copy)):
        with sqlite3.connect(each) as connection:
            counts = [
                connection.execute(f"SELECT count(*) FROM {table}").fetchone()[0] for table in ("person", "device")
            ]
        connection.close()
        assert counts == [1, 3]
    assert os.stat(copy).st_mode & 0o077 == 0
    with database.reading() as session:
        assert session.connection().exec_driver_sql("PRAGMA foreign_keys").scalar() == 1
    assert database.migrate() is None
    database.dispose()


@pytest.mark.parametrize("body", ["raise ZeroDivisionError", "op.execute('SELECT nonsense FROM nowhere')"])
def test_a_step_that_fails_half_way_leaves_nothing(steps: Path, template: Path, tmp_path: Path, body: str) -> None:
    path = tmp_path / "locknut.db"
    shutil.copyfile(template, path)
    database = Database(f"sqlite:///{path}")
    before = database.revision()
    _write_step(steps, f'op.create_table("half", sa.Column("id", sa.Integer()))\n    {body}')
    with pytest.raises((ZeroDivisionError, sa.exc.OperationalError)):
        database.migrate()
    assert database.revision() == before
    with database.reading() as session:
        assert "half" not in sa.inspect(session.connection()).get_table_names()
    database.dispose()


def test_a_step_that_would_leave_a_row_pointing_at_nothing_is_undone(
    steps: Path, template: Path, tmp_path: Path
) -> None:
    path = tmp_path / "locknut.db"
    shutil.copyfile(template, path)
    database = Database(f"sqlite:///{path}")
    person_id = new_id()
    device = Device(id=new_id(), person_id=person_id, title="", kind="token", may="own", secret_hash="x", made_at=NOW)
    with database.writing() as session:
        session.add_all([Person(id=person_id, name="Rider"), device])
    _write_step(steps, 'op.execute("DELETE FROM person")')
    with pytest.raises(WrongDatabase, match="a row of device would point at nothing"):
        database.migrate()
    with database.reading() as session:
        assert session.get(Person, person_id) is not None
    database.dispose()


def test_a_newer_database_is_refused_and_left_alone(template: Path, tmp_path: Path) -> None:
    path = tmp_path / "locknut.db"
    shutil.copyfile(template, path)
    with sqlite3.connect(path) as connection:
        connection.execute("UPDATE alembic_version SET version_num = '9999'")
    connection.close()
    before = path.read_bytes()
    database = Database(f"sqlite:///{path}")
    for ask in (database.migrate, database.check_current):
        with pytest.raises(WrongDatabase, match=r"newer Locknut.*9999.*Install the newer program"):
            ask()
    database.dispose()
    assert path.read_bytes() == before


def test_a_database_of_something_else_is_refused(tmp_path: Path) -> None:
    with sqlite3.connect(tmp_path / "other.db") as connection:
        connection.execute("CREATE TABLE recipe (name TEXT)")
    connection.close()
    with pytest.raises(WrongDatabase, match="tables of something else"):
        Database(f"sqlite:///{tmp_path / 'other.db'}").migrate()


def test_an_older_database_is_not_served(steps: Path, template: Path) -> None:
    _write_step(steps, "pass")
    with pytest.raises(WrongDatabase, match="locknut migrate"):
        Database(f"sqlite:///{template}").check_current()


def test_many_that_start_at_once_make_one_database(tmp_path: Path) -> None:
    path, wrong = tmp_path / "new" / "locknut.db", []
    ready = threading.Barrier(STARTS)

    def start() -> None:
        ready.wait()
        try:
            Database(f"sqlite:///{path}").migrate()
        except Exception as error:
            wrong.append(error)

    threads = [threading.Thread(target=start) for _ in range(STARTS)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert wrong == []
    assert Database(f"sqlite:///{path}").revision() == known_revisions()[-1]
    assert path.stat().st_mode & 0o077 == 0


def test_a_folder_that_may_not_be_written_is_said(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(Refusal, match=r"cannot be (opened|made)"):
        Database(f"sqlite:///{tmp_path / 'file' / 'locknut.db'}").migrate()


def test_workshops_from_before_ride_files_get_a_secret_each(steps: Path, tmp_path: Path) -> None:
    versions = steps / "versions"
    later = [path for path in versions.glob("[0-9]*.py") if path.name[:4] >= "0005"]
    kept = {path: path.read_text("utf-8") for path in later}
    for path in later:
        path.unlink()
    database = Database(f"sqlite:///{tmp_path / 'locknut.db'}")
    database.migrate()
    with sqlite3.connect(tmp_path / "locknut.db") as connection:
        add = "INSERT INTO workshop (id, name, time_zone, currency, version) VALUES (?, ?, 'UTC', 'EUR', 1)"
        connection.executemany(add, [(new_id().hex, name) for name in ("Shed", "Barn")])
    connection.close()
    for path, text in kept.items():
        path.write_text(text, "utf-8")
    database.migrate()
    with database.reading() as session:
        keys = session.connection().exec_driver_sql("SELECT file_key FROM workshop").scalars().all()
    database.dispose()
    assert len(set(keys)) == 2
    assert [len(bytes.fromhex(key)) for key in keys] == [32, 32]
