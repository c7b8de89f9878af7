"""Every page of this room opened with the longest names there are, in scripts that run both ways, and with markup."""

from __future__ import annotations

import pytest
from django.urls import reverse
from django.utils.html import escape

from tests.cast import NOW
from training.curriculum import drafting, stating
from training.curriculum.models import Programme
from training.pages.curriculum.urls import urlpatterns

ONLY_POSTED = {
    "edition-begin", "step-move", "edition-follow", "rules-follow", "rules-begin", "facts-begin", "facts-follow",
}  # fmt: skip


def long(start, most=120):
    return (f"{start} <b>Ærøy & Søn</b> ניקוי הצינור 吸痰护理 العناية بالأنبوب " * 4)[:most].strip()


STEP, TITLE, FACT, SET = long("Step", 300), long("Skill"), long("Fact"), long("Set")
PARTS = {"skill": "suction", "step": "s01", "place": 0}


@pytest.fixture
def written(north):
    """Drafts of every part, in which each name is as long as it may be."""
    programme, by = north.programme, north.educator
    draft = drafting.begin_edition(programme, "suction", by=by, at=NOW)
    body = draft.body
    body["words"] |= {
        "title": TITLE,
        "plain": long("Plain", 200),
        "why": long("Why", 500),
        "cautions": [long("C", 500)] * 3,
    }
    body["edition"]["steps"][0] |= {"text": STEP, "plain": STEP, "why": long("Why", 500), "watch": long("W", 500)}
    drafting.save(draft, body, version=1, by=by, at=NOW)
    rules = drafting.begin_rules(programme, by=by, at=NOW)
    rules.body["sets"]["full"] |= {"title": SET, "plain": long("Plain", 200)}
    rules.body["team"][0]["name"] = long("Way")
    rules.body["items"][0]["title"] = long("Item")
    drafting.save(rules, rules.body, version=1, by=by, at=NOW)
    facts = stating.begin_facts(programme, by=by, at=NOW)
    facts.body["facts"][0] |= {
        "title": FACT,
        "plain": long("Plain", 200),
        "choices": {"none": long("None"), "air": long("Air")},
    }
    facts.body["notice"] = long("Notice", 1000)
    limits = {"none": {"high": 30, "source": long("Source", 500)}}
    width = {
        "code": "width",
        "title": long("Width"),
        "order": "tube_id_mm",
        "unit": "mm",
        "by": "cuff",
        "limits": limits,
    }
    facts.body["checks"] = {"ranges": [width]}
    drafting.save(facts, facts.body, version=1, by=by, at=NOW)
    Programme.objects.filter(pk=programme.pk).update(title=long("Programme"))
    return programme


def code_for(name):
    return {"fact-edit": "cuff", "range-edit": "width", "rule-item-edit": "kit"}.get(name, "full")


def address(programme, pattern):
    known = {"programme": programme.public_id, "code": code_for(pattern.name), **PARTS}
    return reverse(pattern.name, kwargs={name: known[name] for name in pattern.pattern.converters})


@pytest.mark.parametrize("pattern", urlpatterns, ids=lambda pattern: pattern.name)
def test_it_opens_with_the_longest_names(educator, written, pattern):
    query = {"compare": "?old=1&new=draft", "range-new": "?by=cuff", "publish": "?part=suction"}.get(pattern.name, "")

    answer = educator.get(address(written, pattern) + query)

    assert answer.status_code == (405 if pattern.name in ONLY_POSTED else 200)
    assert "<b>Ærøy" not in answer.content.decode()


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("writing", TITLE), ("edition-draft", STEP), ("edition-words", TITLE), ("step-edit", STEP), ("edition-when", FACT),
        ("rules-draft", SET), ("set-edit", SET), ("facts-draft", FACT), ("fact-edit", FACT), ("publish", TITLE),
    ],
)  # fmt: skip
def test_the_names_are_there_whole(educator, written, name, said):
    pattern = next(p for p in urlpatterns if p.name == name)

    assert escape(said) in educator.get(address(written, pattern)).content.decode()
