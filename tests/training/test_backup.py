"""`manage.py backup` and `manage.py restore`: the way there and back, and everything that is refused."""

from __future__ import annotations

import json
import os
import sqlite3
import subprocess
import sys
import zipfile
from collections.abc import Iterator
from contextlib import closing
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.utils import timezone

from tests.training.scratch import in_place_of_the_site
from training.exchange.backups import archive, restoring
from training.exchange.backups.archive import DamagedBackupError, read_archive, write_archive
from training.exchange.backups.contents import contents_of
from training.exchange.backups.making import make_backup
from training.exchange.backups.refusing import InUseError, RefusedRestoreError
from training.exchange.backups.restoring import Restored, restore_backup
from training.records import guards

ROOT = Path(__file__).parents[2]
on_sqlite = pytest.mark.skipif(connection.vendor != "sqlite", reason="SQLite only")
on_postgres = pytest.mark.skipif(connection.vendor != "postgresql", reason="PostgreSQL only")


@pytest.fixture
def backup(scratch: Any, tmp_path: Path) -> Path:
    """A backup of the database of its own."""
    file = tmp_path / "kept.zip"
    make_backup(scratch, file, at=timezone.now())
    return file


def back(site: Any, file: Path, **options: Any) -> Restored:
    return restore_backup(site, file, at=timezone.now(), **options)


def ask(site: Any, sql: str) -> list[Any]:
    with site.cursor() as cursor:
        cursor.execute(sql)
        return cursor.fetchall() if cursor.description else []


def change_name(site: Any, name: str) -> None:
    ask(site, f"UPDATE people_family SET name = '{name}'")


def names(site: Any) -> set[str]:
    return {row[0] for row in ask(site, "SELECT name FROM people_family")}


def rewritten(file: Path, to: Path, **changes: Any) -> Path:
    """The same backup with a manifest that says something else."""
    with zipfile.ZipFile(file) as inside, zipfile.ZipFile(to, "w") as made:
        data = json.loads(inside.read(archive.MANIFEST)) | changes
        made.writestr(archive.MANIFEST, json.dumps(data))
        made.writestr(archive.DATABASE, inside.read(archive.DATABASE))
    return to


# There and back -------------------------------------------------------------------------------------------


def test_what_is_restored_is_what_was_there(scratch, backup):
    before = contents_of(scratch)
    change_name(scratch, "Other")
    restored = back(scratch, backup)

    assert (restored.contents, contents_of(scratch)) == (before, before)
    assert "Other" not in names(scratch)


def test_the_guards_are_in_place_after_it(scratch, backup):
    guards.lift(scratch)
    back(scratch, backup)

    assert guards.missing(scratch) == []


def test_guards_that_a_backup_lacks_are_put_in_place(scratch, tmp_path):
    guards.lift(scratch)
    make_backup(scratch, tmp_path / "bare.zip", at=timezone.now())
    back(scratch, tmp_path / "bare.zip")

    assert guards.missing(scratch) == []


def test_the_database_that_was_there_is_kept(scratch, backup):
    change_name(scratch, "Only here")
    kept = back(scratch, backup).kept
    there = restoring.another(scratch, kept)
    with closing(there):
        assert names(there) == {"Only here"}


def test_the_manifest_counts_what_is_in_it(scratch, backup):
    manifest, found = read_archive(backup), contents_of(scratch)

    assert (manifest.chains, manifest.records, manifest.heads) == (found.chains, found.records, found.heads)
    assert (manifest.vendor, manifest.migrations) == (connection.vendor, found.migrations)
    assert "records.0001_initial" in manifest.migrations


def test_the_file_is_for_its_owner_alone(backup):
    assert backup.stat().st_mode & 0o777 == 0o600


def test_nothing_is_left_beside_it(scratch, backup, tmp_path):
    back(scratch, backup)

    assert [p.name for p in tmp_path.iterdir() if p.name.startswith((".backup", ".restore"))] == []


def test_what_was_committed_before_is_in_it_to_the_last_record(scratch, tmp_path):
    """Also while somebody is in the middle of writing."""
    change_name(scratch, "Committed")
    with closing(restoring.another(scratch, scratch.settings_dict["NAME"])) as writing, writing.cursor() as cursor:
        cursor.execute("BEGIN")
        cursor.execute("UPDATE people_family SET name = 'Under way'")
        make_backup(scratch, tmp_path / "during.zip", at=timezone.now())
        cursor.execute("ROLLBACK")
    change_name(scratch, "Later")
    back(scratch, tmp_path / "during.zip")

    assert names(scratch) == {"Committed"}


def test_an_older_version_is_restored_and_says_what_is_to_be_done(scratch, tmp_path):
    ask(scratch, "DELETE FROM django_migrations WHERE app = 'standing'")
    make_backup(scratch, tmp_path / "older.zip", at=timezone.now())

    assert back(scratch, tmp_path / "older.zip").older[0].startswith("standing.0001")


# Refused, with nothing changed ----------------------------------------------------------------------------


@pytest.fixture
def unchanged(scratch: Any, backup: Path, tmp_path: Path) -> Iterator[tuple[Any, Path]]:
    """A site and its backup; afterwards the site is as it was, and nothing half lies about."""
    change_name(scratch, "As it was")
    folder = {p.name for p in tmp_path.iterdir()}
    databases = _databases(scratch)
    yield scratch, backup
    assert names(scratch) == {"As it was"}
    assert {p.name for p in tmp_path.iterdir() if ".sqlite3" in p.name or p.name.startswith(".")} <= folder
    assert _databases(scratch) == databases


def _databases(site: Any) -> int:
    if site.vendor == "sqlite":
        return 0
    return ask(site, "SELECT count(*) FROM pg_database WHERE datname ~ '^register_(scratch|restoring)'")[0][0]


def test_a_newer_version_is_refused(unchanged, tmp_path):
    site, backup = unchanged
    newer = rewritten(
        backup, tmp_path / "n.zip", migrations=[*read_archive(backup).migrations, "people.0999_add_wings"]
    )
    with pytest.raises(RefusedRestoreError, match=r"newer version.*people.0999_add_wings"):
        back(site, newer)


def test_a_newer_database_is_refused_whatever_the_manifest_says(scratch, tmp_path):
    ask(scratch, "UPDATE django_migrations SET name = '0999_add_wings' WHERE app = 'standing'")
    make_backup(scratch, tmp_path / "newer.zip", at=timezone.now())
    older = rewritten(tmp_path / "newer.zip", tmp_path / "says.zip", migrations=[])
    with pytest.raises(RefusedRestoreError, match="newer version"):
        back(scratch, older)


def test_another_kind_of_database_is_refused(unchanged, tmp_path):
    site, backup = unchanged
    with pytest.raises(RefusedRestoreError, match="The backup is of oracle"):
        back(site, rewritten(backup, tmp_path / "other.zip", vendor="oracle"))


@pytest.mark.parametrize("changes", [{"records": 5}, {"chains": 5}, {"heads": "0" * 64}])
def test_records_that_are_not_those_that_were_counted_are_refused(unchanged, tmp_path, changes):
    site, backup = unchanged
    with pytest.raises(DamagedBackupError, match="not those its manifest counted"):
        back(site, rewritten(backup, tmp_path / "other.zip", **changes))


@pytest.mark.parametrize(
    "changes",
    [{"format": "x"}, {"sha256": "0" * 64}, {"sha256": 5}, {"records": "5"}, {"migrations": None}, {"more": 1}],
)
def test_a_manifest_that_is_not_sound_is_refused(unchanged, tmp_path, changes):
    site, backup = unchanged
    with pytest.raises(DamagedBackupError):
        back(site, rewritten(backup, tmp_path / "other.zip", **changes))


@pytest.mark.parametrize("part", [0.0, 0.01, 0.3, 0.6, 0.9, 0.999])
def test_a_backup_cut_short_is_refused(unchanged, part):
    site, backup = unchanged
    data = backup.read_bytes()
    backup.write_bytes(data[: int(len(data) * part)])
    with pytest.raises(DamagedBackupError):
        back(site, backup)


@pytest.mark.parametrize("part", [0.1, 0.3, 0.5, 0.7, 0.9])
def test_a_backup_with_one_byte_changed_is_refused(unchanged, part):
    site, backup = unchanged
    data = bytearray(backup.read_bytes())
    data[int(len(data) * part)] ^= 0xFF
    backup.write_bytes(data)
    with pytest.raises(DamagedBackupError):
        back(site, backup)


def test_a_database_inside_that_is_none_is_refused(unchanged, tmp_path):
    site, _backup = unchanged
    (tmp_path / "junk").write_bytes(b"junk" * 1000)
    manifest = archive.Manifest(
        vendor=site.vendor, made_at="", migrations=[], chains=0, records=0, heads="",
        sha256=archive.digest_of_file(tmp_path / "junk"),
    )  # fmt: skip
    write_archive(tmp_path / "junk.zip", manifest, tmp_path / "junk")
    with pytest.raises((RefusedRestoreError, DamagedBackupError)):
        back(site, tmp_path / "junk.zip")


def test_records_that_do_not_fit_are_refused_unless_asked_for(scratch, tmp_path):
    guards.lift(scratch)
    ask(scratch, "UPDATE records_record SET kind = 'x' WHERE number = 2")
    made = make_backup(scratch, tmp_path / "bad.zip", at=timezone.now())
    with pytest.raises(RefusedRestoreError, match="its digest is not that of what it says"):
        back(scratch, tmp_path / "bad.zip")

    assert len(made.misfits) == 8
    assert back(scratch, tmp_path / "bad.zip", although_misfit=True).contents.misfits == made.misfits


def test_a_failure_half_way_changes_nothing(unchanged, monkeypatch):
    site, backup = unchanged

    def full(*args: Any) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(restoring, "contents_of", full)
    with pytest.raises(OSError, match="No space left"):
        back(site, backup)


# In use ---------------------------------------------------------------------------------------------------


@on_sqlite
@pytest.mark.parametrize("doing", ["BEGIN IMMEDIATE", "BEGIN; SELECT * FROM people_family"])
def test_a_database_somebody_reads_or_writes_is_refused(unchanged, doing):
    site, backup = unchanged
    with closing(sqlite3.connect(site.settings_dict["NAME"], isolation_level=None)) as other:
        for statement in doing.split("; "):
            other.execute(statement).fetchone()
        with pytest.raises(InUseError, match="locked"):
            back(site, backup)


@on_sqlite
def test_a_database_another_process_has_open_is_refused(unchanged):
    site, backup = unchanged
    code = "import sys; f = open(sys.argv[1], 'rb'); print('open', flush=True); sys.stdin.read()"
    words = [sys.executable, "-c", code, site.settings_dict["NAME"]]
    with subprocess.Popen(words, stdin=subprocess.PIPE, stdout=subprocess.PIPE) as other:
        other.stdout.readline()
        with pytest.raises(InUseError, match=f"process {other.pid} has the database open"):
            back(site, backup)
        other.communicate(b"")


@on_sqlite
def test_who_comes_at_the_very_last_moment_is_noticed(unchanged, monkeypatch):
    site, backup = unchanged
    real = restoring.sqlite._holders
    monkeypatch.setattr(restoring.sqlite, "_holders", lambda path: [4711] if "before" in str(path) else real(path))
    with pytest.raises(InUseError, match="process 4711"):
        back(site, backup)


@on_sqlite
def test_a_damaged_database_can_be_restored_over(scratch, backup):
    """What a crash left beside it is not applied to the new one."""
    file = Path(scratch.settings_dict["NAME"])
    scratch.close()
    file.write_bytes(b"not a database" * 1000)
    for ending in ("-journal", "-wal", "-shm"):
        Path(f"{file}{ending}").write_bytes(os.urandom(5000))
    kept = Path(back(scratch, backup).kept)

    assert kept.read_bytes()[:14] == b"not a database"
    assert [p.name for p in file.parent.glob(f"{file.name}-*")] == []
    assert contents_of(scratch).misfits == []


@on_postgres
def test_a_database_with_another_session_is_refused(unchanged):
    site, backup = unchanged
    with closing(restoring.another(site, site.settings_dict["NAME"])) as other:
        ask(other, "SELECT 1")
        with pytest.raises(InUseError, match="1 session is connected to it"):
            back(site, backup)


@on_postgres
def test_no_password_is_on_a_command_line(scratch, tmp_path, monkeypatch):
    from training.exchange.backups import postgres

    seen = []
    real = subprocess.run
    monkeypatch.setitem(scratch.settings_dict, "PASSWORD", "very secret")
    monkeypatch.setattr(
        postgres.subprocess, "run", lambda words, **options: seen.append((words, options)) or real(words, **options)
    )
    make_backup(scratch, tmp_path / "b.zip", at=timezone.now())

    assert {options["env"]["PGPASSWORD"] for _, options in seen} == {"very secret"}
    assert [words for words, _ in seen if "very secret" in " ".join(words)] == []


@on_postgres
def test_a_missing_program_is_named(scratch, tmp_path, monkeypatch):
    monkeypatch.setenv("PATH", str(tmp_path))

    with pytest.raises(RefusedRestoreError, match="pg_dump is not installed here"):
        make_backup(scratch, tmp_path / "b.zip", at=timezone.now())


# The commands ---------------------------------------------------------------------------------------------


def run(command: str, *words: Any, **options: Any) -> str:
    out = StringIO()
    call_command(command, *map(str, words), stdout=out, stderr=StringIO(), **options)
    return out.getvalue()


def test_the_commands_say_what_they_did(scratch, tmp_path):
    with in_place_of_the_site(scratch):
        made = run("backup", tmp_path / "b.zip")
        said = run("restore", tmp_path / "b.zip")
    count = contents_of(scratch).records

    assert f"{count} records in 8 chains, read back and whole." in made
    assert f"{count} records in 8 chains fit.\nThe triggers that guard them are in place." in said
    assert "The database that was here is kept as " in said


def test_a_backup_that_is_there_is_written_over_only_when_asked(scratch, tmp_path):
    (tmp_path / "b.zip").write_text("mine")
    with in_place_of_the_site(scratch):
        with pytest.raises(CommandError, match="is there already"):
            run("backup", tmp_path / "b.zip")
        assert (tmp_path / "b.zip").read_text() == "mine"
        run("backup", tmp_path / "b.zip", replace=True)

    assert read_archive(tmp_path / "b.zip").chains == 8


def test_a_copy_of_records_that_do_not_fit_is_made_and_said(scratch, tmp_path):
    guards.lift(scratch)
    ask(scratch, "UPDATE records_record SET kind = 'x' WHERE number = 2")
    with in_place_of_the_site(scratch), pytest.raises(CommandError, match="a true copy, but records in it do not fit"):
        run("backup", tmp_path / "b.zip")

    assert read_archive(tmp_path / "b.zip").chains == 8


@pytest.mark.parametrize("file", ["nowhere.zip", "."])
def test_a_file_that_is_not_there_is_a_plain_refusal(scratch, tmp_path, file):
    with (
        in_place_of_the_site(scratch),
        pytest.raises(CommandError, match="Nothing was restored and nothing was changed"),
    ):
        run("restore", tmp_path / file)


@on_sqlite
def test_a_site_that_is_tampered_with_is_named_by_the_command(scratch):
    """The whole way: the file is opened by another program, its triggers dropped, a record changed, the file closed."""
    name = scratch.settings_dict["NAME"]
    scratch.close()
    with closing(sqlite3.connect(name)) as file, file:
        for (trigger,) in file.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            file.execute(f"DROP TRIGGER {trigger}")
        file.execute("UPDATE records_record SET body = replace(body, 'mother', 'sister') WHERE kind = 'caregiver'")
        file.execute("UPDATE records_record SET body = CAST(body AS BLOB)")
    ended = subprocess.run(
        [sys.executable, "manage.py", "verify_records", "--skip-checks"],
        cwd=ROOT, env={**os.environ, "DATABASE_URL": f"sqlite://{name}"}, capture_output=True, text=True, check=False,
    )  # fmt: skip

    assert ended.returncode == 1
    assert ended.stdout.count("its digest is not that of what it says") == 4
    assert ended.stdout.count("is missing: records could be changed") == 3 * len(guards.TABLES)
