"""An organisation whose programme has two editions of hand hygiene, the second with a step more."""

from __future__ import annotations

from datetime import date
from typing import Any

from tests import cast

SECOND = """      - edition: 2
        in_force_from: {first_day}
        older_sign_offs: recheck
        standard: {{needs: [{{passes: 1}}], valid_for: P1Y}}
        steps:
          - {{code: s01, text: Takes off rings, plain: Take off your rings., may_skip: true}}
          - {{code: s02, text: Washes before touching anything, plain: Wash first., critical: true}}
          - {{code: s03, text: Dries them, plain: Dry them.}}
  - code: suction
"""


def home_with_two_editions(monkeypatch: Any, first_day: date) -> cast.Home:
    text = cast.PROGRAMME.replace("  - code: suction\n    title", SECOND.format(first_day=first_day) + "    title", 1)
    monkeypatch.setattr(cast, "PROGRAMME", text)
    return cast.make_home("Westmark Hospital", "hospital", [("Aas-Lome", "Pia")])
