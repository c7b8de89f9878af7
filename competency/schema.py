"""The JSON Schema (draft 2020-12) of a case, which ships beside this module.

It says what a well-formed case is. What contradicts itself although each part is well formed (an unknown skill, a
void of nothing) only `competency.reading.read_case` refuses.
"""

from __future__ import annotations

import json
from importlib.resources import files
from typing import Any


def case_schema() -> dict[str, Any]:
    text = files("competency").joinpath("case.schema.json").read_text(encoding="utf-8")
    schema: dict[str, Any] = json.loads(text)
    return schema
