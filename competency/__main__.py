"""``python -m competency``: one case in (JSON, standard input), its answer out (JSON, standard output).

``--explain CAREGIVER SKILL`` prints an account of one caregiver and skill through time in place of the answer.
``--schema`` prints the JSON Schema of a case and reads nothing.

Exit status 0 with an answer; 2 where the case is refused, each problem on a line of standard error with its path,
and where the caregiver or the skill is not in the case.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Sequence

from competency.answer import answer
from competency.explain import UnknownNameError, explain
from competency.fields import RefusedError
from competency.reading import parse, read_case
from competency.schema import case_schema


def main(words: Sequence[str] | None = None) -> int:
    parser = argparse.ArgumentParser(prog="python -m competency", description="Answer the case on standard input.")
    asked = parser.add_mutually_exclusive_group()
    asked.add_argument("--explain", nargs=2, metavar=("CAREGIVER", "SKILL"), help="tell one skill through time")
    asked.add_argument("--schema", action="store_true", help="print the JSON Schema of a case")
    options = parser.parse_args(words)
    try:
        print(_asked(options))
    except (RefusedError, UnknownNameError) as refusal:
        print(refusal, file=sys.stderr)
        return 2
    return 0


def _asked(options: argparse.Namespace) -> str:
    if options.schema:
        return _json(case_schema())
    case = read_case(parse(sys.stdin.buffer.read()))
    if options.explain:
        return explain(case, *options.explain)
    return _json(answer(case))


def _json(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, indent=1)


if __name__ == "__main__":
    # Half a character pair, which JSON may hold and UTF-8 may not, goes out as the escape it came in as.
    sys.stdout.reconfigure(encoding="utf-8", errors="backslashreplace")  # type: ignore[union-attr]
    sys.exit(main())
