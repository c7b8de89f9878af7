"""``python -m competency.verify``: what fits, what does not, and files that are no export at all."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
import tracemalloc
import uuid
from dataclasses import replace
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest

from competency.chain import NOTHING_BEFORE, canonical
from competency.chain_reading import Entry, NotAsWrittenError, read_canonical
from competency.verify import FORMAT, LONGEST_LINE, MisfitError, check_export, main

ROOT = Path(__file__).parents[2]
ORGANISATION = str(uuid.UUID(int=1))
CHAINS = {"family": str(uuid.UUID(int=2)), "curriculum": str(uuid.UUID(int=3)), "staff": ORGANISATION}
LENGTHS = {"family": 5, "curriculum": 2, "staff": 1}


def record(chain: str, number: int, previous: str, **changes: Any) -> Entry:
    entry = Entry(
        organisation=ORGANISATION,
        chain=chain,
        number=number,
        kind="care_plan",
        intent=str(uuid.UUID(int=int(chain[-1]) * 1000 + number)),
        recorded_at=f"2026-05-{number:02}T08:00:00.000000Z",
        body=canonical({"said": "é", "number": number}),
        previous=previous,
        digest="",
    )
    entry = replace(entry, **changes)
    return replace(entry, digest=entry.worked_out())


def records(lengths: dict[str, int] = LENGTHS) -> list[Entry]:
    made = []
    for what, length in lengths.items():
        head = NOTHING_BEFORE
        for number in range(1, length + 1):
            made.append(record(CHAINS[what], number, head))
            head = made[-1].digest
    return made


def first_line(**changes: Any) -> bytes:
    chains = [{"what": what, "chain": chain, "organisation": ORGANISATION} for what, chain in CHAINS.items()]
    whole = {"format": FORMAT, "family": CHAINS["family"], "organisation": ORGANISATION, "chains": chains}
    return canonical({**whole, **changes}) + b"\n"


def line_of(entry: Entry, **changes: Any) -> bytes:
    data = {name: getattr(entry, name) for name in Entry.__slots__}
    return canonical({**data, "body": entry.body.decode(), **changes}) + b"\n"


def export(entries: list[Entry] | None = None, lines: list[bytes] | None = None, first: bytes | None = None) -> bytes:
    lines = [line_of(entry) for entry in (records() if entries is None else entries)] if lines is None else lines
    whole = b"".join([first_line() if first is None else first, *lines])
    return whole + canonical({"end": FORMAT, "sha256": hashlib.sha256(whole).hexdigest()}) + b"\n"


def changed(at: int, **changes: Any) -> bytes:
    """An export in which one record says something else; its own digest is that of the file again."""
    lines = [line_of(entry) for entry in records()]
    lines[at] = line_of(records()[at], **changes)
    return export(lines=lines)


@pytest.fixture
def run(tmp_path: Path, capsys: Any) -> Any:
    """Write the bytes, check the file, and give the exit status and what was said."""

    def check(data: bytes, *words: str) -> tuple[int, str]:
        file = tmp_path / "family.jsonl"
        file.write_bytes(data)
        status = main([str(file), *words])
        said = capsys.readouterr()
        return status, said.out + said.err

    return check


# What fits ------------------------------------------------------------------------------------------------


def test_a_file_that_fits_says_what_was_checked(run):
    status, said = run(export())

    assert status == 0
    assert f"family chain {CHAINS['family']}: 5 records, recorded 2026-05-01 to 2026-05-05" in said
    assert "it cannot be noticed that records were cut off at\nthe end" in said


def test_an_organisation_may_have_no_record_of_its_own(run):
    assert run(export(records({"family": 1, "curriculum": 1})))[0] == 0


@pytest.mark.parametrize(
    ("number", "where"),
    [
        (5, "the printed head is its last record"),
        (4, "1 record after the printed head"),
        (1, "4 records after the printed head"),
    ],
)
def test_a_head_may_be_of_any_record(run, number, where):
    status, said = run(export(), "--head", records()[number - 1].digest)

    assert (status, where in said) == (0, True)


@pytest.mark.parametrize(
    "typed",
    [
        lambda head: " ".join(head[at : at + 8] for at in range(0, 64, 8)),
        lambda head: head.upper(),
        lambda head: head[:16],
    ],
)
def test_a_head_may_be_typed_as_packets_print_it(run, typed):
    assert run(export(), "--head", typed(records()[4].digest))[0] == 0


@pytest.mark.parametrize("typed", ["", "abc", "z" * 64, "a" * 65])
def test_what_is_no_head_is_refused(run, typed):
    with pytest.raises(SystemExit) as ended:
        run(export(), "--head", typed)

    assert ended.value.code == 2


# What does not --------------------------------------------------------------------------------------------

ENTRIES = records()
REWRITTEN = record(CHAINS["family"], 3, ENTRIES[1].digest, body=b'{"said":"other"}')
FORGED = record(CHAINS["family"], 3, ENTRIES[1].digest, intent=str(uuid.UUID(int=99)))
SPACED = record(CHAINS["family"], 5, ENTRIES[3].digest, body=b'{"said": 1}')
LISTED = record(CHAINS["family"], 5, ENTRIES[3].digest, body=b"[]")
UNTIMED = record(CHAINS["family"], 5, ENTRIES[3].digest, recorded_at="2026-02-30T08:00:00.000000Z")

MISFITS = {
    "another body": (changed(2, body="{}"), "record 3 (care_plan, recorded 2026-05-03T08:00:00.000000Z) of the family "),
    "why a body": (changed(2, body="{}"), "its digest is not that of what it says"),
    "another digest": (changed(2, digest="0" * 64), "its digest is not that of what it says"),
    "another kind": (changed(2, kind="void"), "its digest is not that of what it says"),
    "another time": (changed(2, recorded_at="2026-05-03T08:00:00.000001Z"), "its digest is not that of what it says"),
    "another previous": (changed(2, previous="0" * 64), "does not carry the digest of the record before it"),
    "another organisation": (changed(2, organisation=str(uuid.UUID(int=9))), "belongs to the organisation"),
    "another chain": (changed(2, chain=str(uuid.UUID(int=9))), "belongs to the chain"),
    "a later chain": (changed(2, chain=CHAINS["staff"]), "record 3"),
    "a number that is gone": (export([*ENTRIES[:2], *ENTRIES[3:]]), "number 3 is missing before it"),
    "numbers that are gone": (export([*ENTRIES[:1], *ENTRIES[4:]]), "numbers 2 to 4 are missing before it"),
    "the first that is gone": (export(ENTRIES[1:]), "number 1 is missing before it"),
    "a number twice": (export([*ENTRIES[:3], *ENTRIES[2:]]), "number 4 should stand here; this number was there before"),
    "two swapped": (export([ENTRIES[1], ENTRIES[0], *ENTRIES[2:]]), "number 1 is missing before it"),
    "chains mixed": (export([*ENTRIES[:4], ENTRIES[5], ENTRIES[4], *ENTRIES[6:]]), "not here"),
    "rewritten with its digest": (export([*ENTRIES[:2], REWRITTEN, *ENTRIES[3:]]), "record 4"),
    "a forged one between": (export([*ENTRIES[:2], FORGED, *ENTRIES[2:]]), "number 4 should stand here"),
    "spaces in a body": (export([*ENTRIES[:4], SPACED, *ENTRIES[5:]]), "the bytes of its body are not canonical"),
    "a body that is a list": (export([*ENTRIES[:4], LISTED, *ENTRIES[5:]]), "its body is no object"),
    "30 February": (export([*ENTRIES[:4], UNTIMED, *ENTRIES[5:]]), "its recorded_at is no instant"),
    "all cut": (export(ENTRIES[5:]), "The family chain 00000000-0000-0000-0000-000000000002 has no record"),
    "no last line": (b"".join(export().splitlines(keepends=True)[:-1]), "the file was cut"),
    "cut in a line": (export()[:-20], "Line 10 has no end"),
    "cut at a line's end": (export()[:-1], "Line 10 has no end"),
    "something after it": (export() + b"{}\n", "Line 11: something follows"),
    "an end with another digest": (export().replace(b'"sha256":"', b'"sha256":"0')[:-4] + b'"}\n', "own digest"),
    "an end with more in it": (export()[:-2] + b',"x":1}\n', "neither a record nor the last line"),
    "a line lost by accident": (b"".join(export().splitlines(keepends=True)[i] for i in (*range(8), 9)), "own digest"),
    "a key too many": (changed(2, more=1), "Line 4 does not have the keys of a record"),
    "a number as text": (changed(2, number="3"), "Line 4: a record's number is a whole number"),
    "a number as truth": (changed(0, number=True), "Line 2: a record's number is a whole number"),
    "a list": (export(lines=[b"[]\n"]), "Line 2 is no object"),
    "no JSON": (export(lines=[b"what\n"]), "Line 2 cannot be read: no JSON"),
    "an empty line": (export(lines=[b"\n"]), "Line 2 cannot be read: no JSON"),
    "not UTF-8": (export(lines=[b'{"a":"\xff"}\n']), "Line 2 cannot be read: not UTF-8"),
    "a mark within": (export(lines=[b"\xef\xbb\xbf{}\n"]), "Line 2 cannot be read: a byte order mark"),
    "NaN": (export(lines=[b'{"number":NaN}\n']), "Line 2 cannot be read: NaN is no number"),
    "a key twice": (export(lines=[b'{"a":1,"a":2}\n']), "Line 2 cannot be read: a key is given twice"),
    "an exponent": (export(lines=[b'{"a":1e999999999}\n']), "Line 2 cannot be read: a number is written with an exp"),
    "a huge number": (export(lines=[b'{"a":' + b"9" * 100_000 + b"}\n"]), "a number has more than 1000 digits"),
    "a huge fraction": (export(lines=[b'{"a":0.' + b"9" * 100_000 + b"}\n"]), "a number has more than 1000 digits"),
    "deep nesting": (export(lines=[b"[" * 200_000 + b"]" * 200_000 + b"\n"]), "Line 2 cannot be read: nested too deep"),
    "deep objects": (export(lines=[b'{"a":' * 100_000 + b"1" + b"}" * 100_000 + b"\n"]), "nested too deep"),
    "half a character": (export(lines=[b'{"a":"\\ud800"}\n']), "Line 2 cannot be read: half a pair"),
    "spaces in a line": (export(lines=[b'{"a": 1}\n']), "Line 2 cannot be read: spaces"),
    "zero bytes": (export(lines=[b"\0" * 1000 + b"\n"]), "Line 2 cannot be read"),
}  # fmt: skip


@pytest.mark.parametrize("what", MISFITS)
def test_the_first_thing_that_does_not_fit_is_named(run, what):
    data, words = MISFITS[what]
    status, said = run(data)

    assert (status, "does not fit" in said, words in said) == (1, True, True), said


def test_a_tail_cut_with_care_is_noticed_by_the_head_alone(run):
    cut = export([*ENTRIES[:3], *ENTRIES[5:]])

    assert [run(cut)[0], run(cut, "--head", ENTRIES[2].digest)[0], run(cut, "--head", ENTRIES[4].digest)[0]] == [
        0,
        0,
        1,
    ]


def test_a_chain_written_anew_is_noticed_by_the_head_alone(run):
    anew = [record(CHAINS["family"], 1, NOTHING_BEFORE, body=b"{}"), *ENTRIES[5:]]
    status, said = run(export(anew), "--head", ENTRIES[0].digest)

    assert (run(export(anew))[0], status) == (0, 1)
    assert "that of no record in this file: records were cut off at the end, or the chain was written anew" in said


def test_words_from_the_file_cannot_steer_a_terminal(run):
    said = run(changed(2, kind="\x1b[2J" + "x" * 500))[1]

    assert ("\x1b" in said, "\\u001b[2J" in said, len(max(said.splitlines(), key=len)) < 400) == (False, True, True)


# What is no export ----------------------------------------------------------------------------------------

NO_EXPORTS = {
    "nothing at all": (b"", "it is empty"),
    "a picture": (b"\x89PNG\r\n\x1a\n" + bytes(range(256)), "Line 1 cannot be read"),
    "a mark before it": (b"\xef\xbb\xbf" + export(), "a byte order mark stands before it"),
    "two bytes a letter": (export().decode().encode("utf-16"), "Line 1 cannot be read: not UTF-8"),
    "another program's line ends": (export().replace(b"\n", b"\r\n"), "Line 1 cannot be read: spaces"),
    "JSON of another kind": (b'{"a":1}\n', "does not say that it is of the format register-export-1"),
    "a later format": (first_line(format="register-export-2"), "does not say that it is of the format"),
    "no chains": (first_line(chains=[]), "does not name the family, the organisation and the chains"),
    "chains that are none": (first_line(chains={"a": 1}), "does not name the family"),
    "a chain without a name": (first_line(chains=[{"what": "family"}]), "does not name the family"),
    "another family": (first_line(family=str(uuid.UUID(int=9))), "does not name the family"),
    "more than it should": (first_line(more=1), "does not name the family"),
    "only brackets": (b"[" * 1_000_000, "Line 1 has no end"),
    "brackets and an end": (b"[" * 1_000_000 + b"\n", "Line 1 cannot be read: nested too deeply"),
    "one endless line": (b"x" * (LONGEST_LINE + 10), "Line 1 is longer than any an export writes"),
}


@pytest.mark.parametrize("what", NO_EXPORTS)
def test_what_is_no_export_is_refused_with_a_reason(run, what):
    data, words = NO_EXPORTS[what]
    status, said = run(data)

    assert (status, "cannot be read as an export" in said, words in said) == (2, True, True), said


@pytest.mark.parametrize("path", ["nowhere.jsonl", ".", "a\0b", "x" * 5000])
def test_a_file_that_cannot_be_opened_is_no_traceback(capsys, path):
    assert main([path]) == 2
    assert "cannot be read as an export" in capsys.readouterr().err


def test_it_runs_where_nothing_is_installed(tmp_path):
    """No site packages, a plain terminal, a file with an odd name."""
    file = tmp_path / os.fsdecode(b"odd\xff.jsonl")
    file.write_bytes(export())
    ended = subprocess.run(
        [sys.executable, "-S", "-I", "-c", f"import sys; sys.path.insert(0, {str(ROOT)!r}); import runpy; "
         "runpy.run_module('competency.verify', run_name='__main__')", file],
        capture_output=True, env={"LC_ALL": "C"}, check=False,
    )  # fmt: skip

    assert (ended.returncode, ended.stderr) == (0, b"")


def test_a_large_file_is_never_held_whole():
    one = [record(CHAINS["family"], 1, NOTHING_BEFORE, body=canonical({"text": "x" * 1_000_000}))]
    for number in range(2, 31):
        one.append(record(CHAINS["family"], number, one[-1].digest, body=canonical({"text": "y" * 1_000_000})))
    data = export([*one, *ENTRIES[5:]])
    tracemalloc.start()
    check_export(BytesIO(data))
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()

    assert (len(data) > 30_000_000, peak < 15_000_000) == (True, True)


# JSON -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("data", [b"{}", b'{"a":5.5,"b":[1,null,true]}', '{"ä":"\u2028"}'.encode(), b"-0.5"])
def test_what_is_written_the_one_way_is_read(data):
    assert canonical(read_canonical(data)) == data


@pytest.mark.parametrize(
    "data", [b"5.0", b"-0", b'{"b":1,"a":2}', b'"\\u00e9"', b"1E5", b'"\\/"', b" 1", b"1\n", b"05"]
)
def test_another_way_of_writing_the_same_is_not(data):
    with pytest.raises(NotAsWrittenError):
        read_canonical(data)


def test_a_head_is_looked_for_in_the_whole_file():
    with pytest.raises(MisfitError, match="that of no record in this file"):
        check_export(BytesIO(export()), "f" * 64)
