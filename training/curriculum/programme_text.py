"""A programme as YAML text: always the same text for the same programme, so that two files compare line by line.

One value to a line, one step to a block, keys in the order the samples use. Comments are not kept.
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

import yaml

# In reading order. A key that is not here (a fact, a set) follows in the order of the alphabet.
_ORDER = """
    code name edition in_force_from change_note title language sample notice text plain group why watch kind retired
    device choices tube inner outer catheter order by per_cent strictly_below spares step_mm ranges unit low high
    limits cautions older_sign_offs applies_when needs_authorisation requires on_change evidence skill set count
    minimum_age standard standard_source passes setting role mode place days observers places within
    only_to_learn needs renewal after_failure pass_mark valid_for first_valid_for valid_to grace signatures
    critical may_skip roles measure steps editions facts checks skills sets people patient_alone team items
    hours sizes caregiver_may_check source rules
"""
_RANK = {key: n for n, key in enumerate(_ORDER.split())}
_SHORT = 4  # a list of so many codes stays on its line


class _Dumper(yaml.SafeDumper):
    """Block style without aliases; a date is written as the text it is, without quotes."""

    yaml_implicit_resolvers = {  # the base class's own table, less dates
        first: [(tag, regexp) for tag, regexp in resolvers if tag != "tag:yaml.org,2002:timestamp"]
        for first, resolvers in yaml.SafeDumper.yaml_implicit_resolvers.items()
    }

    def ignore_aliases(self, data: Any) -> bool:
        return True

    def increase_indent(self, flow: bool = False, indentless: bool = False) -> None:
        super().increase_indent(flow, False)  # list items stand to the right of their key


def _text(dumper: _Dumper, text: str) -> yaml.Node:
    return dumper.represent_scalar("tag:yaml.org,2002:str", text, style="|" if "\n" in text else None)


def _number(dumper: _Dumper, number: float | Decimal) -> yaml.Node:
    """Without an exponent, which the reader would not take."""
    exact = number if isinstance(number, Decimal) else Decimal(repr(number))
    return dumper.represent_scalar("tag:yaml.org,2002:float", f"{exact:f}")


def _list(dumper: _Dumper, items: list[Any]) -> yaml.Node:
    short = len(items) <= _SHORT and all(not isinstance(i, dict | list) and len(str(i)) <= 20 for i in items)
    return dumper.represent_sequence("tag:yaml.org,2002:seq", items, flow_style=short)


class _AsGiven(dict[str, Any]):
    """Pairs whose order says something."""


def _as_given(dumper: _Dumper, found: _AsGiven) -> yaml.Node:
    return dumper.represent_mapping("tag:yaml.org,2002:map", list(found.items()))


def _mapping(dumper: _Dumper, found: Mapping[str, Any]) -> yaml.Node:
    pairs = sorted(found.items(), key=lambda pair: (_RANK.get(pair[0], len(_RANK)), pair[0]))
    return dumper.represent_mapping("tag:yaml.org,2002:map", pairs, flow_style=not pairs)


_Dumper.add_representer(str, _text)
_Dumper.add_representer(float, _number)
_Dumper.add_representer(Decimal, _number)
_Dumper.add_representer(list, _list)
_Dumper.add_representer(dict, _mapping)
_Dumper.add_representer(_AsGiven, _as_given)


def written(data: Mapping[str, Any]) -> str:
    """A programme, in a file's own keys, as the text of a file."""
    facts = data.get("facts")
    listed = {"facts": [_fact(fact) for fact in facts]} if isinstance(facts, list) else {}
    return yaml.dump({**data, **listed}, Dumper=_Dumper, allow_unicode=True, sort_keys=False, width=1_000_000)


def _fact(fact: Any) -> Any:
    """A fact in a file's keys: the order of its choices is the order they are written in."""
    if not isinstance(fact, dict) or not isinstance(fact.get("choices"), dict):
        return fact
    choices = fact["choices"]
    rest = {key: value for key, value in fact.items() if key != "choice_order"}
    return {**rest, "choices": _AsGiven({code: choices[code] for code in fact.get("choice_order", choices)})}
