"""``python -m competency.verify``: what fits, what does not, and files that are no export at all."""

from __future__ import annotations

import hashlib
import os
import re
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
from competency.chain_reading import Chain, Entry, NotAsWrittenError, read_canonical, shown
from competency.verify import FORMAT, LONGEST_LINE, MisfitError, _lines, check_export, main

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
        assert "" in (said.out, said.err)
        return status, (said.out + said.err).replace(str(file), "FILE")

    return check


# What fits ------------------------------------------------------------------------------------------------


def in_groups(digest: str) -> str:
    return " ".join(re.findall("........", digest))


def held(lengths: dict[str, int] = LENGTHS) -> str:
    """What is said of an export with so many records in each chain."""
    said = "FILE fits.\n"
    for what, length in lengths.items():
        records_ = "1 record" if length == 1 else f"{length} records"
        head = [entry for entry in records(lengths) if entry.chain == CHAINS[what]][-1].digest
        said += f"  {what} chain {CHAINS[what]}: {records_}, recorded 2026-05-01 to 2026-05-0{length}\n"
        said += f"    head {in_groups(head)}\n"
    return said + (
        "Of each record: its number, its digest, the digest of the one before it, its chain, organisation and bytes.\n"
    )


def test_a_file_that_fits_says_what_was_checked(run):
    assert run(export()) == (
        0,
        held()
        + "No head from outside was given (--head). Without one it cannot be noticed that records were cut off at\n"
        "the end, or that a chain was written anew: compare the heads above with one that was printed earlier.\n",
    )


@pytest.mark.parametrize(
    ("at", "said"),
    [
        (
            4,
            "record 5 (care_plan, recorded 2026-05-05T08:00:00.000000Z) of the family chain: the printed head is its last record.",
        ),
        (
            0,
            "record 1 (care_plan, recorded 2026-05-01T08:00:00.000000Z) of the family chain: 4 records after the printed head.",
        ),
        (
            5,
            "record 1 (care_plan, recorded 2026-05-01T08:00:00.000000Z) of the curriculum chain: 1 record after the printed head.",
        ),
    ],
)
def test_a_file_that_fits_says_whose_head_was_given(run, at, said):
    assert run(export(), "--head", records()[at].digest) == (0, f"{held()}The head given is that of {said}\n")


def test_a_chain_without_a_record_has_no_days_and_no_head(run):
    said = run(export(records({"family": 1, "curriculum": 1})))[1]

    assert f"  staff chain {ORGANISATION}: 0 records\nOf each record" in said


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


@pytest.mark.parametrize("typed", ["", "abc", "z" * 64, "a" * 65, "a" * 15])
def test_what_is_no_head_is_refused(run, capsys, typed):
    with pytest.raises(SystemExit) as ended:
        run(export(), "--head", typed)

    assert (ended.value.code, capsys.readouterr().err.splitlines()[-1]) == (
        2,
        "python -m competency.verify: error: argument --head: a head is 64 hexadecimal digits, or the first 16 or more of them",
    )


def test_the_help_says_what_it_takes(capsys, monkeypatch):
    monkeypatch.setenv("COLUMNS", "100")
    with pytest.raises(SystemExit) as ended:
        main(["--help"])

    assert (ended.value.code, " ".join(capsys.readouterr().out.split())) == (
        0,
        "usage: python -m competency.verify [-h] [--head DIGEST] FILE Check an exported family file. "
        "positional arguments: FILE made by `manage.py export_family` "
        "options: -h, --help show this help message and exit --head DIGEST the digest printed on a packet",
    )


# What does not --------------------------------------------------------------------------------------------

ENTRIES = records()
REWRITTEN = record(CHAINS["family"], 3, ENTRIES[1].digest, body=b'{"said":"other"}')
FORGED = record(CHAINS["family"], 3, ENTRIES[1].digest, intent=str(uuid.UUID(int=99)))
SPACED = record(CHAINS["family"], 5, ENTRIES[3].digest, body=b'{"said": 1}')
LISTED = record(CHAINS["family"], 5, ENTRIES[3].digest, body=b"[]")
UNTIMED = record(CHAINS["family"], 5, ENTRIES[3].digest, recorded_at="2026-02-30T08:00:00.000000Z")
DATED = record(CHAINS["family"], 5, ENTRIES[3].digest, recorded_at="2026-05-05T08:00:00Z")

MISFITS = {
    "another body": (changed(2, body="{}"), "record 3 (care_plan, recorded 2026-05-03T08:00:00.000000Z) of the family chain, line 4: its digest is not that of what it says: it was changed after it was recorded."),
    "another digest": (changed(2, digest="0" * 64), "record 3 (care_plan, recorded 2026-05-03T08:00:00.000000Z) of the family chain, line 4: its digest is not that of what it says: it was changed after it was recorded."),
    "another kind": (changed(2, kind="void"), "record 3 (void, recorded 2026-05-03T08:00:00.000000Z) of the family chain, line 4: its digest is not that of what it says: it was changed after it was recorded."),
    "another time": (changed(2, recorded_at="2026-05-03T08:00:00.000001Z"), "record 3 (care_plan, recorded 2026-05-03T08:00:00.000001Z) of the family chain, line 4: its digest is not that of what it says: it was changed after it was recorded."),
    "another previous": (changed(2, previous="0" * 64), "record 3 (care_plan, recorded 2026-05-03T08:00:00.000000Z) of the family chain, line 4: it does not carry the digest of the record before it."),
    "another organisation": (changed(2, organisation=str(uuid.UUID(int=9))), "record 3 (care_plan, recorded 2026-05-03T08:00:00.000000Z) of the family chain, line 4: it says it belongs to the organisation 00000000-0000-0000-0000-000000000009."),
    "another chain": (changed(2, chain=str(uuid.UUID(int=9))), "record 3 (care_plan, recorded 2026-05-03T08:00:00.000000Z), line 4: it says it belongs to the chain 00000000-0000-0000-0000-000000000009, not here."),
    "a later chain": (changed(2, chain=CHAINS["staff"]), "record 3 (care_plan, recorded 2026-05-03T08:00:00.000000Z) of the staff chain, line 4: numbers 1 to 2 are missing before it, or its number was changed."),
    "a number that is gone": (export([*ENTRIES[:2], *ENTRIES[3:]]), "record 4 (care_plan, recorded 2026-05-04T08:00:00.000000Z) of the family chain, line 4: number 3 is missing before it, or its number was changed."),
    "numbers that are gone": (export([*ENTRIES[:1], *ENTRIES[4:]]), "record 5 (care_plan, recorded 2026-05-05T08:00:00.000000Z) of the family chain, line 3: numbers 2 to 4 are missing before it, or its number was changed."),
    "the first that is gone": (export(ENTRIES[1:]), "record 2 (care_plan, recorded 2026-05-02T08:00:00.000000Z) of the family chain, line 2: number 1 is missing before it, or its number was changed."),
    "a number twice": (export([*ENTRIES[:3], *ENTRIES[2:]]), "record 3 (care_plan, recorded 2026-05-03T08:00:00.000000Z) of the family chain, line 5: number 4 should stand here; this number was there before, or the order was changed."),
    "two swapped": (export([ENTRIES[1], ENTRIES[0], *ENTRIES[2:]]), "record 2 (care_plan, recorded 2026-05-02T08:00:00.000000Z) of the family chain, line 2: number 1 is missing before it, or its number was changed."),
    "chains mixed": (export([*ENTRIES[:4], ENTRIES[5], ENTRIES[4], *ENTRIES[6:]]), "record 5 (care_plan, recorded 2026-05-05T08:00:00.000000Z), line 7: it says it belongs to the chain 00000000-0000-0000-0000-000000000002, not here."),
    "rewritten with its digest": (export([*ENTRIES[:2], REWRITTEN, *ENTRIES[3:]]), "record 4 (care_plan, recorded 2026-05-04T08:00:00.000000Z) of the family chain, line 5: it does not carry the digest of the record before it."),
    "a forged one between": (export([*ENTRIES[:2], FORGED, *ENTRIES[2:]]), "record 3 (care_plan, recorded 2026-05-03T08:00:00.000000Z) of the family chain, line 5: number 4 should stand here; this number was there before, or the order was changed."),
    "spaces in a body": (export([*ENTRIES[:4], SPACED, *ENTRIES[5:]]), "record 5 (care_plan, recorded 2026-05-05T08:00:00.000000Z) of the family chain, line 6: the bytes of its body are not canonical: spaces, the order of keys, or a text or number are written another way."),
    "a body that is a list": (export([*ENTRIES[:4], LISTED, *ENTRIES[5:]]), "record 5 (care_plan, recorded 2026-05-05T08:00:00.000000Z) of the family chain, line 6: its body is no object."),
    "30 February": (export([*ENTRIES[:4], UNTIMED, *ENTRIES[5:]]), "record 5 (care_plan, recorded 2026-02-30T08:00:00.000000Z) of the family chain, line 6: its recorded_at is no instant."),
    "all cut of the curriculum": (export([*ENTRIES[:5], *ENTRIES[7:]]), "The curriculum chain 00000000-0000-0000-0000-000000000003 has no record: all of them were cut."),
    "a text as a number": (changed(2, kind=5), "Line 4: a record's number is a whole number and all else in it is text."),
    "an end with another format": (export().replace(b'{"end":"register-export-1"', b'{"end":"register-export-2"'), "Line 10 is neither a record nor the last line of an export."),
    "two that are gone": (export([*ENTRIES[:2], *ENTRIES[4:]]), "record 5 (care_plan, recorded 2026-05-05T08:00:00.000000Z) of the family chain, line 4: numbers 3 to 4 are missing before it, or its number was changed."),
    "a time with no fraction": (export([*ENTRIES[:4], DATED, *ENTRIES[5:]]), "record 5 (care_plan, recorded 2026-05-05T08:00:00Z) of the family chain, line 6: its recorded_at is no instant."),
    "all cut": (export(ENTRIES[5:]), "The family chain 00000000-0000-0000-0000-000000000002 has no record: all of them were cut."),
    "no last line": (b"".join(export().splitlines(keepends=True)[:-1]), "The last line of an export is not there: the file was cut."),
    "cut in a line": (export()[:-20], "Line 10 has no end: the file was cut, or is no export."),
    "cut at a line's end": (export()[:-1], "Line 10 has no end: the file was cut, or is no export."),
    "something after it": (export() + b"{}\n", "Line 11: something follows the last line of the export."),
    "an end with another digest": (export().replace(b'"sha256":"', b'"sha256":"0')[:-4] + b'"}\n', "Line 10: every record fits, but the file is not the one that was written: its own digest, which stands here, is another. Lines were changed or cut."),
    "an end with more in it": (export()[:-2] + b',"x":1}\n', "Line 10 is neither a record nor the last line of an export."),
    "a line lost by accident": (b"".join(export().splitlines(keepends=True)[i] for i in (*range(8), 9)), "Line 9: every record fits, but the file is not the one that was written: its own digest, which stands here, is another. Lines were changed or cut."),
    "a key too many": (changed(2, more=1), "Line 4 does not have the keys of a record."),
    "a number as text": (changed(2, number="3"), "Line 4: a record's number is a whole number and all else in it is text."),
    "a number as truth": (changed(0, number=True), "Line 2: a record's number is a whole number and all else in it is text."),
    "a list": (export(lines=[b"[]\n"]), "Line 2 is no object."),
    "no JSON": (export(lines=[b"what\n"]), "Line 2 cannot be read: no JSON: Expecting value: line 1 column 1 (char 0)."),
    "an empty line": (export(lines=[b"\n"]), "Line 2 cannot be read: no JSON: Expecting value: line 1 column 1 (char 0)."),
    "not UTF-8": (export(lines=[b'{"a":"\xff"}\n']), "Line 2 cannot be read: not UTF-8."),
    "a mark within": (export(lines=[b"\xef\xbb\xbf{}\n"]), "Line 2 cannot be read: a byte order mark stands before it; another program has saved it."),
    "NaN": (export(lines=[b'{"number":NaN}\n']), "Line 2 cannot be read: NaN is no number."),
    "a key twice": (export(lines=[b'{"a":1,"a":2}\n']), "Line 2 cannot be read: a key is given twice in one object."),
    "an exponent": (export(lines=[b'{"a":1e999999999}\n']), "Line 2 cannot be read: a number is written with an exponent."),
    "a huge number": (export(lines=[b'{"a":' + b"9" * 100_000 + b"}\n"]), "Line 2 cannot be read: a number has more than 1000 digits."),
    "a huge fraction": (export(lines=[b'{"a":0.' + b"9" * 100_000 + b"}\n"]), "Line 2 cannot be read: a number has more than 1000 digits."),
    "deep nesting": (export(lines=[b"[" * 200_000 + b"]" * 200_000 + b"\n"]), "Line 2 cannot be read: nested too deeply."),
    "deep objects": (export(lines=[b'{"a":' * 100_000 + b"1" + b"}" * 100_000 + b"\n"]), "Line 2 cannot be read: nested too deeply."),
    "half a character": (export(lines=[b'{"a":"\\ud800"}\n']), "Line 2 cannot be read: half a pair of characters."),
    "spaces in a line": (export(lines=[b'{"a": 1}\n']), "Line 2 cannot be read: spaces, the order of keys, or a text or number are written another way."),
    "zero bytes": (export(lines=[b"\0" * 1000 + b"\n"]), "Line 2 cannot be read: no JSON: Expecting value: line 1 column 1 (char 0)."),
}  # fmt: skip


@pytest.mark.parametrize("what", MISFITS)
def test_the_first_thing_that_does_not_fit_is_named(run, what):
    data, message = MISFITS[what]

    assert run(data) == (1, f"FILE does not fit.\n{message}\n")


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

    assert (run(export(anew))[0], status, said) == (
        0,
        1,
        f"FILE does not fit.\nThe head given, {in_groups(ENTRIES[0].digest)}, is that of no record in this file: records were "
        "cut off at the end, or the chain was written anew, or the head is of another family.\n",
    )


def test_words_from_the_file_cannot_steer_a_terminal(run):
    said = run(changed(2, kind="\x1b[2J" + "x" * 500))[1]

    assert ("\x1b" in said, "\\u001b[2J" in said, len(max(said.splitlines(), key=len)) < 400) == (False, True, True)


# What is no export ----------------------------------------------------------------------------------------

NAMES = "its first line does not name the family, the organisation and the chains as it should"
CHAIN_ROWS = [{"what": what, "chain": chain, "organisation": ORGANISATION} for what, chain in CHAINS.items()]
NO_EXPORTS = {
    "nothing at all": (b"", "it is empty"),
    "a picture": (b"\x89PNG\r\n\x1a\n" + bytes(range(256)), "Line 1 cannot be read: not UTF-8."),
    "a mark before it": (
        b"\xef\xbb\xbf" + export(),
        "Line 1 cannot be read: a byte order mark stands before it; another program has saved it.",
    ),
    "two bytes a letter": (export().decode().encode("utf-16"), "Line 1 cannot be read: not UTF-8."),
    "another program's line ends": (
        export().replace(b"\n", b"\r\n"),
        "Line 1 cannot be read: spaces, the order of keys, or a text or number are written another way.",
    ),
    "JSON of another kind": (b'{"a":1}\n', "its first line does not say that it is of the format register-export-1"),
    "a later format": (
        first_line(format="register-export-2"),
        "its first line does not say that it is of the format register-export-1",
    ),
    "no chains": (first_line(chains=[]), NAMES),
    "chains that are none": (first_line(chains={"a": 1}), NAMES),
    "a chain without a name": (first_line(chains=[{"what": "family"}]), NAMES),
    "a chain of no uuid": (first_line(chains=[CHAIN_ROWS[0] | {"chain": "x"}, *CHAIN_ROWS[1:]]), NAMES),
    "an organisation of no uuid": (first_line(chains=[*CHAIN_ROWS[:2], CHAIN_ROWS[2] | {"organisation": "x"}]), NAMES),
    "a chain that is no text": (first_line(chains=[CHAIN_ROWS[0], CHAIN_ROWS[1] | {"chain": 5}, CHAIN_ROWS[2]]), NAMES),
    "chains in another order": (first_line(chains=[CHAIN_ROWS[0], CHAIN_ROWS[2], CHAIN_ROWS[1]]), NAMES),
    "a chain with more": (first_line(chains=[*CHAIN_ROWS[:2], CHAIN_ROWS[2] | {"more": 1}]), NAMES),
    "another organisation": (first_line(organisation=str(uuid.UUID(int=9))), NAMES),
    "an organisation that is not the family's": (
        first_line(
            organisation=str(uuid.UUID(int=9)),
            chains=[CHAIN_ROWS[0], CHAIN_ROWS[1] | {"organisation": str(uuid.UUID(int=9))}, CHAIN_ROWS[2]],
        ),
        NAMES,
    ),
    "another family": (first_line(family=str(uuid.UUID(int=9))), NAMES),
    "more than it should": (first_line(more=1), NAMES),
    "only brackets": (b"[" * 1_000_000, "Line 1 has no end: the file was cut, or is no export."),
    "brackets and an end": (b"[" * 1_000_000 + b"\n", "Line 1 cannot be read: nested too deeply."),
    "one endless line": (b"x" * (LONGEST_LINE + 10), "Line 1 is longer than any an export writes (16777216 bytes)."),
}


@pytest.mark.parametrize("what", NO_EXPORTS)
def test_what_is_no_export_is_refused_with_a_reason(run, what):
    data, reason = NO_EXPORTS[what]

    assert run(data) == (2, f"FILE cannot be read as an export: {reason}\n")


@pytest.mark.parametrize(
    ("path", "reason"),
    [
        ("nowhere.jsonl", "No such file or directory"),
        (".", "Is a directory"),
        ("a\0b", "embedded null byte"),
        ("x" * 5000, "File name too long"),
    ],
)
def test_a_file_that_cannot_be_opened_is_no_traceback(capsys, path, reason):
    status = main([path])

    assert (status, *capsys.readouterr()) == (2, "", f"{path} cannot be read as an export: {reason}\n")


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


# The bounds of a line, a number, a text -------------------------------------------------------------------


def test_a_line_of_the_greatest_length_is_read():
    line = b"x" * (LONGEST_LINE - 1) + b"\n"

    assert [(number, len(found)) for number, found in _lines(BytesIO(line * 2))] == [
        (1, LONGEST_LINE),
        (2, LONGEST_LINE),
    ]


def test_a_line_a_byte_longer_is_not():
    with pytest.raises(MisfitError, match=r"^Line 2 is longer than any an export writes \(16777216 bytes\)\.$"):
        list(_lines(BytesIO(b"{}\n" + b"x" * LONGEST_LINE + b"\n")))


def test_no_more_is_asked_for_than_a_line_may_hold():
    class File(BytesIO):
        def readline(self, size: int | None = -1) -> bytes:
            asked.append(size)
            return super().readline(size)

    asked: list[int | None] = []
    list(_lines(File(b"{}\n{}\n")))

    assert asked == [LONGEST_LINE + 1] * 3


@pytest.mark.parametrize(("digits", "is_read"), [(1000, True), (1001, False)])
def test_a_number_of_the_greatest_length(digits, is_read):
    try:
        found = read_canonical(b"1" * digits) == int("1" * digits)
    except NotAsWrittenError as error:
        found = str(error) != "a number has more than 1000 digits"

    assert found is is_read


@pytest.mark.parametrize(
    ("text", "said"),
    [("x" * 80, "x" * 80), ("x" * 81, "x" * 77 + "..."), ("a\nb", "a\\nb"), ("é", "\\u00e9"), ("", "")],
)
def test_a_text_of_the_file_is_shown_short(text, said):
    assert shown(text) == said


# One chain ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changes", "misfit"),
    [
        ({}, None),
        ({"chain": "x"}, "it says it belongs to the chain x"),
        ({"organisation": "y"}, "it says it belongs to the organisation y"),
        ({"number": 2}, "number 1 is missing before it, or its number was changed"),
        ({"number": 0}, "number 1 should stand here; this number was there before, or the order was changed"),
        ({"previous": "1" * 64}, "it does not carry the digest of the record before it"),
        ({"body": b"[]"}, "its body is no object"),
    ],
)
def test_the_first_record_of_a_chain(changes, misfit):
    entry = replace(ENTRIES[0], **changes)
    chain = Chain(chain=CHAINS["family"], organisation=ORGANISATION)

    assert chain.misfit(replace(entry, digest=entry.worked_out())) == misfit
    assert (chain.count, chain.head, chain.last_at != "") == (
        (1, ENTRIES[0].digest, True) if misfit is None else (0, NOTHING_BEFORE, False)
    )


def test_a_chain_remembers_its_first_and_last_instant():
    chain = Chain(chain=CHAINS["family"])
    found = [chain.misfit(entry) for entry in ENTRIES[:5]]

    assert (found, chain.count, chain.first_at, chain.last_at) == (
        [None] * 5,
        5,
        "2026-05-01T08:00:00.000000Z",
        "2026-05-05T08:00:00.000000Z",
    )


def test_a_chain_of_no_organisation_takes_any():
    entry = record(CHAINS["family"], 1, NOTHING_BEFORE, organisation="another")

    assert Chain(chain=CHAINS["family"]).misfit(entry) is None
