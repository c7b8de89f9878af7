"""``python -m competency``: one case in (JSON, standard input), its answer out (JSON, standard output).

Exit status 0 with an answer; 2 where the case is refused, each problem on a line of standard error with its path.
"""

from __future__ import annotations

import json
import sys

from competency.answer import answer
from competency.fields import RefusedError
from competency.reading import parse, read_case


def main() -> int:
    try:
        case = read_case(parse(sys.stdin.buffer.read()))
    except RefusedError as refusal:
        for problem in refusal.problems:
            print(problem, file=sys.stderr)
        return 2
    json.dump(answer(case), sys.stdout, ensure_ascii=False, indent=1)
    print()
    return 0


if __name__ == "__main__":
    sys.exit(main())
