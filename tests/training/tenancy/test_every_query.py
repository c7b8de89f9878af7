"""The first fence: every query of a page starts from what is visible to who asks, or from a parent found that way.

Read from the code, so that a new one cannot be forgotten. A query that does neither is excused by name, with a reason.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

from training.tenancy.policies import POLICIES

ROOT = Path(__file__).resolve().parents[3]
ROOMS = ("pages", "documents", "standing")
MODELS = {label.partition(".")[2] for label in POLICIES} | {"User"}
STARTS = {"visible_to", "of", "of_chain"}
WRITES = {"create", "create_user", "bulk_create"}  # what they write into was found before; the database checks it again
# A narrower query by something that was itself found among the visible.
PARENTS = {
    "family", "family__in", "caregiver__family", "chain", "chain__in", "programme", "caregiver", "author", "made",
}  # fmt: skip
WHOLE = {"Member", "Programme"}  # seen by their whole organisation; of families some may be assigned to others

_ACCOUNT = "accounts belong to no organisation: whether a user name is taken is asked of all"
_DEED = "a deed's own intent: the row is compared with the family, author or chain before it is given back"
_OWN = "the account of who is signed in, or of whose password was right a moment ago"
_COMMAND = "run on the server by who keeps it; no page"
_WHOLE = "works out anew the spans of every family concerned; shows none"
_REBUILD = "a command of the owner's, over all organisations"
EXCUSED = {
    "pages/setup/members.py clean_username": _ACCOUNT,
    "pages/joining/forms.py clean_username": _ACCOUNT,
    "pages/entry/account.py post": _OWN,
    "pages/entry/signing_in.py half_signed_in": _OWN,
    "pages/entry/closing.py has_another_place": "answers yes or no, so that nobody is shut out of where else they work",
    "pages/entry/closing.py do": "the account of a member who was found among the colleagues",
    "pages/management/commands/reset_link.py *": _COMMAND,
    "pages/management/commands/bench.py *": _COMMAND,
    "pages/bench/measuring.py *": _COMMAND,
    "pages/assigning/views.py named": "by its whole name and with a reason that stays: the emergency's own page",
    "pages/board/saving.py post": "the member's own, under a name of theirs",
    "pages/cannot_save.py is_signed": "says yes or no of an intent the person posted, and nothing of whose",
    "pages/cannot_save.py draft_kept": "says whether the draft of the address in use is there; its page finds the author",
    "standing/deeds.py record": _DEED,
    "standing/deeds.py sign_draft": _DEED,
    "standing/deeds.py sign_drafts": _DEED,
    "standing/deeds.py open_family": _DEED,
    "standing/deeds.py _assessed_by": _WHOLE,
    "standing/deeds.py end_qualification": _DEED,
    "standing/proposing.py families_following": "every family that follows a programme found among the visible",
    "standing/publishing.py publish": "the programme that was found, read anew once nobody else can write",
    "standing/entries_over.py _rows": "some at a time; given back are those in the chains of families found visible",
    "standing/rechecking.py _plans": "given back are those in the chains of families found visible",
    "standing/drafts.py start": _DEED,
    "standing/drafts.py _changing": "the draft that was found as its author's, locked",
    "standing/arriving.py _arrived_before": _DEED,
    "standing/cache.py store": "by the pk of rows read by family a line above",
    "standing/file.py rules_of": "by the pk of the programme a visible family follows",
    "standing/file.py words_in": "by the pk of the programme a visible family follows",
    "standing/projecting.py *": _REBUILD,
    "standing/rebuilding.py *": _REBUILD,
    "standing/rebuilding_spans.py *": _REBUILD,
    "standing/waiting.py *": "counts, at start-up and for commands, which families are to be worked out; shows none",
}


def queries() -> Iterator[tuple[str, str, str, int]]:
    """Each query that does not start right: the file, the function, the model, the line."""
    for room in ROOMS:
        for path in sorted((ROOT / "training" / room).rglob("*.py")):
            if "migrations" not in path.parts:
                yield from unscoped(path.read_text(), str(path.relative_to(ROOT / "training")))


def unscoped(source: str, file: str) -> Iterator[tuple[str, str, str, int]]:
    tree = ast.parse(source)
    calls = {id(c.func): c for c in ast.walk(tree) if isinstance(c, ast.Call)}
    for function, node in within_functions(tree):
        if not (isinstance(node, ast.Attribute) and is_manager(node.value)):
            continue
        call = calls.get(id(node))
        named = {k.arg for k in call.keywords} if call else set()
        parents = PARENTS | {"organisation"} if ast.unparse(node.value.value) in WHOLE else PARENTS
        if node.attr in STARTS | WRITES or named & parents:
            continue
        yield file, function, ast.unparse(node.value), node.lineno


def within_functions(tree: ast.AST, function: str = "") -> Iterator[tuple[str, ast.AST]]:
    for child in ast.iter_child_nodes(tree):
        name = child.name if isinstance(child, ast.FunctionDef) else function
        yield name, child
        yield from within_functions(child, name)


def is_manager(node: ast.AST) -> bool:
    """``Family.objects``, or ``model.objects`` whatever the model is."""
    return (
        isinstance(node, ast.Attribute)
        and node.attr in ("objects", "_default_manager")
        and isinstance(node.value, ast.Name)
        and (node.value.id in MODELS or node.value.id == "model")
    )


def is_excused(file: str, function: str) -> str | None:
    return next((name for name in (f"{file} {function}", f"{file} *") if name in EXCUSED), None)


def test_every_query_starts_from_what_is_visible():
    found = [f"{f}:{line} {function}: {model}" for f, function, model, line in queries() if not is_excused(f, function)]
    assert found == []


def test_no_excuse_is_left_over():
    used = {is_excused(file, function) for file, function, _model, _line in queries()}
    assert set(EXCUSED) - used == set()


@pytest.mark.parametrize(
    "code",
    [
        "Family.objects.all()",
        "Family.objects.get(public_id=x)",
        "Record.objects.filter(intent=x)",
        "Family.objects.select_related('organisation').filter(pk=1)",
        "Organisation.objects.count()",
        "Family.objects.filter(organisation=me.organisation)",
    ],
)
def test_a_query_over_everybody_is_noticed(code):
    assert len(list(unscoped(f"def view():\n    {code}", "pages/x.py"))) == 1


@pytest.mark.parametrize("code", ["Family.objects.visible_to(me)", "Record.objects.filter(chain=family.public_id)"])
def test_one_that_starts_right_is_not(code):
    assert list(unscoped(f"def view():\n    {code}", "pages/x.py")) == []
