"""``python -m competency.verify FILE [--head DIGEST]``: whether an exported family file is as it was recorded.

Standard library only, and nothing of the site: a hospital, an agency or a court can run it on a machine of their own.
`docs/export-format.md` says what is in the file. The file is read a line at a time.

Exit status 0 where everything fits; 1 where something does not, named on standard output; 2 where the file cannot be
read as an export at all.
"""

from __future__ import annotations

import argparse
import hashlib
import re
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, BinaryIO

from competency.chain_reading import Chain, Entry, NotAsWrittenError, read_canonical, shown

FORMAT = "register-export-1"
LONGEST_LINE = 16 * 1024 * 1024  # bytes; a record has a few thousand, a whole programme under 200,000
CHAINS = ("family", "curriculum", "staff")  # what a file may hold, in this order

_UUID = re.compile(r"[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}", re.ASCII)
_HEAD = re.compile(r"[0-9a-f]{16,64}", re.ASCII)


class NotAnExportError(Exception):
    """The file cannot be read, or is none that an export wrote."""


class MisfitError(Exception):
    """Something in the file does not fit; the message names it."""


# The file -------------------------------------------------------------------------------------------------


@dataclass(slots=True)
class Report:
    """What a file that fits was found to hold. printed: the record whose digest was asked for, and its chain."""

    chains: list[Chain] = field(default_factory=list)
    printed: tuple[Chain, Entry] | None = None


def check_export(file: BinaryIO, head: str | None = None) -> Report:
    """Read an export through and check all of it.

    head: the digest of a record that must be in it, or its first 16 or more digits. Raises NotAnExportError where the
    first line is not an export's, and MisfitError for the first thing that does not fit.
    """
    lines = _lines(file)
    whole = hashlib.sha256()
    report = Report(_header(lines, whole))
    place = 0
    for number, line in lines:
        data = _object(number, line)
        if "end" in data:
            _end(number, data, whole.hexdigest(), lines)
            break
        whole.update(line)
        entry = _entry(number, data)
        place = _place(number, entry, report.chains, place)
        chain = report.chains[place]
        found = chain.misfit(entry)
        if found:
            raise MisfitError(f"{entry.name} of the {chain.what} chain, line {number}: {found}.")
        if head is not None and entry.digest.startswith(head):
            report.printed = (chain, entry)
    else:
        raise MisfitError("The last line of an export is not there: the file was cut.")
    _whole_enough(report, head)
    return report


def _lines(file: BinaryIO) -> Iterator[tuple[int, bytes]]:
    number = 0
    while line := file.readline(LONGEST_LINE + 1):
        number += 1
        if len(line) > LONGEST_LINE:
            raise MisfitError(f"Line {number} is longer than any an export writes ({LONGEST_LINE} bytes).")
        yield number, line


def _header(lines: Iterator[tuple[int, bytes]], whole: Any) -> list[Chain]:
    """The chains that the first line names."""
    try:
        number, line = next(lines)
        data = _object(number, line)
    except StopIteration:
        raise NotAnExportError("it is empty") from None
    except MisfitError as error:
        raise NotAnExportError(str(error)) from None
    if data.get("format") != FORMAT:
        raise NotAnExportError(f"its first line does not say that it is of the format {FORMAT}")
    whole.update(line)
    chains = _chains(data)
    if chains is None or data.keys() != {"format", "family", "organisation", "chains"}:
        raise NotAnExportError("its first line does not name the family, the organisation and the chains as it should")
    return chains


def _chains(data: dict[str, Any]) -> list[Chain] | None:
    rows = data.get("chains")
    keys = {"chain", "what", "organisation"}
    if not isinstance(rows, list) or not all(isinstance(row, dict) and row.keys() == keys for row in rows):
        return None
    if not all(_is_uuid(row["chain"]) and _is_uuid(row["organisation"]) for row in rows):
        return None
    if [row["what"] for row in rows] != list(CHAINS):
        return None
    if (data.get("family"), data.get("organisation")) != (rows[0]["chain"], rows[0]["organisation"]):
        return None
    return [Chain(**row) for row in rows]


def _is_uuid(value: Any) -> bool:
    return isinstance(value, str) and bool(_UUID.fullmatch(value))


def _object(number: int, line: bytes) -> dict[str, Any]:
    if not line.endswith(b"\n"):
        raise MisfitError(f"Line {number} has no end: the file was cut, or is no export.")
    try:
        data = read_canonical(line[:-1])
    except NotAsWrittenError as error:
        raise MisfitError(f"Line {number} cannot be read: {error}.") from None
    if not isinstance(data, dict):
        raise MisfitError(f"Line {number} is no object.")
    return data


def _entry(number: int, data: dict[str, Any]) -> Entry:
    if data.keys() != set(Entry.__slots__):
        raise MisfitError(f"Line {number} does not have the keys of a record.")
    texts = {key: value for key, value in data.items() if key != "number"}
    if type(data["number"]) is not int or not all(isinstance(value, str) for value in texts.values()):
        raise MisfitError(f"Line {number}: a record's number is a whole number and all else in it is text.")
    return Entry(**{**data, "body": data["body"].encode()})


def _place(number: int, entry: Entry, chains: list[Chain], place: int) -> int:
    """Which chain the record belongs to: the one being read, or a later one."""
    for i in range(place, len(chains)):
        if chains[i].chain == entry.chain:
            return i
    raise MisfitError(f"{entry.name}, line {number}: it says it belongs to the chain {shown(entry.chain)}, not here.")


def _end(number: int, data: dict[str, Any], digest: str, lines: Iterator[tuple[int, bytes]]) -> None:
    if data.keys() != {"end", "sha256"} or data["end"] != FORMAT:
        raise MisfitError(f"Line {number} is neither a record nor the last line of an export.")
    if data["sha256"] != digest:
        raise MisfitError(
            f"Line {number}: every record fits, but the file is not the one that was written: "
            "its own digest, which stands here, is another. Lines were changed or cut."
        )
    if next(lines, None) is not None:
        raise MisfitError(f"Line {number + 1}: something follows the last line of the export.")


def _whole_enough(report: Report, head: str | None) -> None:
    for chain in report.chains:
        if chain.count == 0 and chain.what != "staff":
            raise MisfitError(f"The {chain.what} chain {chain.chain} has no record: all of them were cut.")
    if head is not None and report.printed is None:
        raise MisfitError(
            f"The head given, {grouped(head)}, is that of no record in this file: records were cut off at the end, "
            "or the chain was written anew, or the head is of another family."
        )


# The command ----------------------------------------------------------------------------------------------


def grouped(digest: str) -> str:
    """Hexadecimal digits in groups of eight, as packets print them."""
    return " ".join(digest[at : at + 8] for at in range(0, len(digest), 8))


def read_head(text: str) -> str:
    """A head as it was typed from a packet: any case, with spaces, whole or its first 16 digits and more."""
    head = "".join(text.split()).lower()
    if not _HEAD.fullmatch(head):
        raise argparse.ArgumentTypeError("a head is 64 hexadecimal digits, or the first 16 or more of them")
    return head


def told(report: Report) -> Iterator[str]:
    """What was checked, line by line."""
    for chain in report.chains:
        days = f", recorded {chain.first_at[:10]} to {chain.last_at[:10]}" if chain.count else ""
        yield f"  {chain.what} chain {chain.chain}: {chain.count} {_records(chain.count)}{days}"
        if chain.count:
            yield f"    head {grouped(chain.head)}"
    yield "Of each record: its number, its digest, the digest of the one before it, its chain, organisation and bytes."
    if report.printed is None:
        yield "No head from outside was given (--head). Without one it cannot be noticed that records were cut off at"
        yield "the end, or that a chain was written anew: compare the heads above with one that was printed earlier."
        return
    chain, entry = report.printed
    after = chain.count - entry.number
    where = f"{after} {_records(after)} after the printed head" if after else "the printed head is its last record"
    yield f"The head given is that of {entry.name} of the {chain.what} chain: {where}."


def _records(count: int) -> str:
    return "record" if count == 1 else "records"


def main(words: Sequence[str] | None = None) -> int:
    parser = argparse.ArgumentParser(prog="python -m competency.verify", description="Check an exported family file.")
    parser.add_argument("file", metavar="FILE", type=Path, help="made by `manage.py export_family`")
    parser.add_argument("--head", metavar="DIGEST", type=read_head, help="the digest printed on a packet")
    options = parser.parse_args(words)
    try:
        with options.file.open("rb") as file:
            report = check_export(file, options.head)
    except (OSError, ValueError, NotAnExportError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else error
        print(f"{options.file} cannot be read as an export: {reason}", file=sys.stderr)
        return 2
    except MisfitError as error:
        print(f"{options.file} does not fit.\n{error}")
        return 1
    print(f"{options.file} fits.", *told(report), sep="\n")
    return 0


if __name__ == "__main__":
    for stream in (sys.stdout, sys.stderr):
        stream.reconfigure(errors="backslashreplace")  # type: ignore[union-attr]
    sys.exit(main())
