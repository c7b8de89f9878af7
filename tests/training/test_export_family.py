"""`manage.py export_family`: what it writes, what it refuses, what it leaves."""

from __future__ import annotations

import uuid
from io import BytesIO, StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import connection

from competency.chain_reading import read_canonical
from competency.verify import check_export, main
from tests.cast import NOW
from training.curriculum.models import Enrolment
from training.people.models import Family
from training.records import guards
from training.records.appending import append, head_of
from training.records.models import Record


def run(*words: Any, **options: Any) -> str:
    out = StringIO()
    call_command("export_family", *map(str, words), stdout=out, stderr=StringIO(), **options)
    return out.getvalue()


@pytest.fixture
def family(cast: Any) -> Family:
    return cast.north.family


def test_what_it_writes_is_what_the_checker_reads(family, tmp_path):
    run(family.public_id, out=tmp_path / "file")

    assert main([str(tmp_path / "file"), "--head", head_of(family.public_id)[1]]) == 0


def test_it_holds_every_record_of_the_family_the_programme_and_the_staff(family, tmp_path):
    run(family.public_id, out=tmp_path / "file")
    lines = [read_canonical(line) for line in (tmp_path / "file").read_bytes().splitlines()]
    chains = [family.public_id, family.enrolment.programme.public_id, family.organisation.public_id]

    assert [row["intent"] for row in lines[1:-1]] == [
        str(record.intent) for chain in chains for record in Record.objects.of_chain(chain)
    ]


def test_it_holds_nothing_of_another_family(cast, tmp_path):
    run(cast.north.family.public_id, out=tmp_path / "file")
    other = cast.north.families[1]

    assert [w for w in (other.name, str(other.public_id)) if w in (tmp_path / "file").read_text()] == []


def test_it_says_the_head_and_nothing_personal(family, tmp_path):
    said = run(family.public_id, out=tmp_path / "file")

    assert head_of(family.public_id)[1][:8] in said
    assert family.name not in said


def test_the_file_is_for_its_owner_alone(family, tmp_path):
    run(family.public_id, out=tmp_path / "file")

    assert (tmp_path / "file").stat().st_mode & 0o777 == 0o600


def test_what_is_there_is_written_over_only_when_asked(family, tmp_path):
    (tmp_path / "file").write_text("mine")
    with pytest.raises(CommandError, match="is there already"):
        run(family.public_id, out=tmp_path / "file")
    kept = (tmp_path / "file").read_text()
    run(family.public_id, out=tmp_path / "file", replace=True)

    assert (kept, main([str(tmp_path / "file")])) == ("mine", 0)


@pytest.mark.parametrize("word", ["", "what", "'; --", str(uuid.UUID(int=5)), "٣" * 32])
def test_a_family_that_is_not_there_is_refused(cast, tmp_path, word):
    with pytest.raises(CommandError, match=r"family"):
        run(word, out=tmp_path / "file")

    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("words", [[], ["--all", "x"]])
def test_one_family_or_all_of_them(cast, words, tmp_path):
    with pytest.raises(CommandError):
        run(*words, f"--out={tmp_path / 'file'}")


def test_a_folder_that_is_not_there_is_a_plain_refusal(family, tmp_path):
    with pytest.raises(CommandError, match="cannot be written"):
        run(family.public_id, out=tmp_path / "no" / "file")


def test_every_family_is_a_file_named_by_its_id(cast, tmp_path):
    run("--all", out=tmp_path / "all")

    assert {p.name for p in (tmp_path / "all").iterdir()} == {f"{f.public_id}.jsonl" for f in Family.objects.all()}


def test_every_file_fits(cast, tmp_path):
    run("--all", out=tmp_path)

    assert {main([str(file)]) for file in tmp_path.iterdir()} == {0}


def test_where_one_file_of_many_is_there_none_is_written(cast, tmp_path):
    there = tmp_path / f"{Family.objects.order_by('public_id').last().public_id}.jsonl"
    there.write_text("mine")
    with pytest.raises(CommandError, match="is there already"):
        run("--all", out=tmp_path)

    assert [p.read_text() for p in tmp_path.iterdir()] == ["mine"]


def test_a_record_that_does_not_fit_is_written_as_it_stands_and_named(family, tmp_path):
    guards.lift(connection)
    Record.objects.of_chain(family.public_id).filter(number=3).update(body=b"\xff{}")
    with pytest.raises(CommandError, match=r"does not fit: record 3 .* its digest is not that of what it says"):
        run(family.public_id, out=tmp_path / "file")

    assert main([str(tmp_path / "file")]) == 1


def test_a_full_disk_leaves_no_half_file(family, tmp_path, monkeypatch):
    def full(*args: Any) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("training.exchange.exporting.os.fsync", full)
    with pytest.raises(CommandError, match="No space left on device"):
        run(family.public_id, out=tmp_path / "file")

    assert list(tmp_path.iterdir()) == []


def test_what_is_recorded_while_it_writes_waits_for_the_next_export(family, monkeypatch):
    from training.exchange import exporting

    lines = exporting.export_lines(family)
    first = next(lines)
    append(organisation=family.organisation, chain=family.public_id, kind="note", body={}, intent=uuid.uuid4(), at=NOW)
    report = check_export(BytesIO(b"".join([first, *lines])))

    assert report.chains[0].count == head_of(family.public_id)[0] - 1


def test_a_family_without_a_programme_is_a_plain_refusal(family, tmp_path):
    Enrolment.objects.filter(family=family).delete()

    with pytest.raises(CommandError, match="follows no programme"):
        run(family.public_id, out=tmp_path / "file")


def test_the_documented_format_is_the_one_that_is_written(family, tmp_path):
    """Every key of the three kinds of line is named in docs/export-format.md."""
    run(family.public_id, out=tmp_path / "file")
    words = Path("docs/export-format.md").read_text()
    lines = [read_canonical(line) for line in (tmp_path / "file").read_bytes().splitlines()]

    assert [key for row in (lines[0], lines[1], lines[-1]) for key in row if f"`{key}`" not in words] == []
