"""YAML as a programme file uses it: a plain and harmless part of the language, read with the line of every value.

Dates stay texts and numbers keep their digits. Whatever two readers could take differently is refused with its line:
a key given twice, `yes` and `no` without quotes, numbers in odd spellings, tags, merged keys, aliases that unfold
without end. Nothing here knows what a programme is.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

import yaml

from competency.fields import Problem, RefusedError

LARGEST_FILE = 5_000_000  # bytes; a sample is about 150 kB, and a file holds every edition there ever was
MOST_VALUES = 300_000  # after aliases are unfolded: a small file can unfold to more than any machine holds

# libyaml where there is one: twenty times as fast on a large file, and as strict. It stops at 1,000 levels by itself.
_LOADER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_TAG = "tag:yaml.org,2002:"
_NUMBER = re.compile(r"-?(0|[1-9]\d{0,14})(\.\d{1,15})?", re.ASCII)
_NO_TEXT = re.compile("[\x00-\x08\x0b-\x1f\x7f\ud800-\udfff]")  # only an escape can smuggle these in
_ODD = {
    "value": 'a lone "=" is not taken',
    "merge": "merged keys (<<) are not taken; write them out",
}


class FileRefusedError(RefusedError):
    """A file that cannot be taken. lines: for each problem the line it is on, or None where no line is its own."""

    def __init__(self, problems: list[Problem], lines: list[int | None]) -> None:
        super().__init__(problems)
        self.lines = tuple(lines)

    def __str__(self) -> str:
        return "\n".join(
            f"line {line}: {problem}" if line else str(problem)
            for problem, line in zip(self.problems, self.lines, strict=True)
        )


@dataclass(frozen=True, slots=True)
class Read:
    """What a file says, and the line of every path in it."""

    data: Any
    lines: dict[str, int]

    def line_of(self, path: str) -> int | None:
        """The line of a path; of what is missing, the line of what it is missing from."""
        while path and path not in self.lines:
            path = path[: max(path.rfind("."), path.rfind("["), 0)]
        return self.lines.get(path)

    def refused(self, problems: list[Problem]) -> FileRefusedError:
        return FileRefusedError(problems, [self.line_of(p.path) for p in problems])


def refuse_if_large(size: int) -> None:
    """Before anything is read of it."""
    if size > LARGEST_FILE:
        most = LARGEST_FILE // 1_000_000
        raise FileRefusedError([Problem("$", f"the file has {size:,} bytes and is larger than {most} MB")], [None])


def read_yaml(text: str) -> Read:
    """Read a file's text. Raises FileRefusedError with every problem and its line."""
    refuse_if_large(len(text.encode(errors="surrogatepass")))
    walk = _Walk()
    try:
        root = yaml.compose(text, _LOADER)
        data = walk.value(root, "") if root is not None else None
    except yaml.YAMLError as error:
        raise _no_yaml(error) from error
    except RecursionError:
        raise FileRefusedError([Problem("$", "is nested too deeply")], [None]) from None
    if walk.problems:
        raise FileRefusedError(walk.problems, walk.at)
    return Read(data, walk.lines)


def _no_yaml(error: yaml.YAMLError) -> FileRefusedError:
    """Where reading broke off there is one problem: what follows cannot be known."""
    mark = getattr(error, "problem_mark", None)
    said = getattr(error, "problem", None) or getattr(error, "reason", None) or "it cannot be read"
    return FileRefusedError([Problem("$", f"is no YAML: {said}")], [mark.line + 1 if mark else None])


@dataclass(slots=True)
class _Walk:
    """One way through the composed nodes. An alias is the same node again, so it is walked again, and counted."""

    problems: list[Problem] = field(default_factory=list)
    at: list[int | None] = field(default_factory=list)
    lines: dict[str, int] = field(default_factory=dict)
    above: list[yaml.Node] = field(default_factory=list)
    seen: int = 0

    def value(self, node: yaml.Node, path: str) -> Any:
        self._count(node)
        self.lines[path] = node.start_mark.line + 1
        if isinstance(node, yaml.ScalarNode):
            return self._scalar(node, path)
        if node in self.above:
            return self._refuse(node, path, "holds itself")
        self.above.append(node)
        made = self._mapping(node, path) if isinstance(node, yaml.MappingNode) else self._sequence(node, path)
        self.above.pop()
        return made

    def _count(self, node: yaml.Node) -> None:
        self.seen += 1
        if self.seen > MOST_VALUES:
            said = f"unfolds to more than {MOST_VALUES:,} values"
            raise FileRefusedError([Problem("$", said)], [node.start_mark.line + 1])

    def _refuse(self, node: yaml.Node, path: str, message: str) -> None:
        self.problems.append(Problem(path or "$", message))
        self.at.append(node.start_mark.line + 1)

    def _sequence(self, node: yaml.Node, path: str) -> list[Any]:
        self._known_tag(node, path, "seq")
        return [self.value(item, f"{path}[{i}]") for i, item in enumerate(node.value)]

    def _mapping(self, node: yaml.MappingNode, path: str) -> dict[str, Any]:
        self._known_tag(node, path, "map")
        made: dict[str, Any] = {}
        for key, at, value in self._keys(node, path):
            made[key] = self.value(value, at)
        return made

    def _keys(self, node: yaml.MappingNode, path: str) -> Iterator[tuple[str, str, yaml.Node]]:
        """The keys that can be taken, each with its path."""
        taken: set[str] = set()
        for key, value in node.value:
            self._count(key)
            if not isinstance(key, yaml.ScalarNode) or key.tag != _TAG + "str":
                said = _ODD.get(_kind(key), "the key is no text; put it in quotes")
                self._refuse(key, path, said)
            elif _NO_TEXT.search(key.value):
                self._refuse(key, path, "the key holds a control character")
            elif key.value in taken:
                self._refuse(key, _under(path, key.value), "the key is given twice")
            else:
                taken.add(key.value)
                yield key.value, _under(path, key.value), value

    def _known_tag(self, node: yaml.Node, path: str, kind: str) -> None:
        if node.tag != _TAG + kind:
            self._refuse(node, path, f"the tag {_shown(node.tag)} is not taken")

    def _scalar(self, node: yaml.ScalarNode, path: str) -> Any:
        kind, text = _kind(node), node.value
        if kind in ("str", "timestamp"):
            return self._refuse(node, path, "holds a control character") if _NO_TEXT.search(text) else text
        if kind == "null":
            return None
        if kind == "bool":
            if text.lower() in ("true", "false"):
                return text.lower() == "true"
            return self._refuse(node, path, f'write true or false, or put "{text}" in quotes')
        if kind in ("int", "float"):
            return self._number(node, path)
        return self._refuse(node, path, _ODD.get(kind, f"the tag {_shown(node.tag)} is not taken"))

    def _number(self, node: yaml.ScalarNode, path: str) -> int | Decimal | None:
        if not _NUMBER.fullmatch(node.value):
            return self._refuse(
                node, path, f'"{node.value[:40]}" is no plain number of up to 15 digits; put a text in quotes'
            )
        return Decimal(node.value) if "." in node.value else int(node.value)


def _kind(node: yaml.Node) -> str:
    tag = str(node.tag)
    return tag.removeprefix(_TAG) if tag.startswith(_TAG) else ""


def _shown(tag: str) -> str:
    return tag.replace(_TAG, "!!")[:60]


def _under(path: str, key: str) -> str:
    return f"{path}.{key}" if path else key
