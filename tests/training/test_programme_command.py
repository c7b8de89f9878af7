"""`manage.py programme`: a programme out of the site as one file, and back in, without loss and never over what is there."""

import contextlib
import copy
import io
import json
import os
import subprocess
import sys
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
import yaml
from django.core.management import CommandError, call_command
from django.db import IntegrityError
from django.utils import timezone
from hypothesis import given
from hypothesis import strategies as st

from competency.fields import RefusedError
from training.curriculum import programme_yaml
from training.curriculum.models import Edition, Programme, RuleSet
from training.curriculum.programme_file import plain, read_file
from training.curriculum.programme_text import written
from training.curriculum.programme_wording import EDITION_WORDS, FACT, ITEM_WORDS, SET, STEP_WORDS
from training.curriculum.programme_wording import SKILL as SKILL_KEYS
from training.curriculum.programme_wording import TOP as TOP_KEYS
from training.curriculum.published import published
from training.curriculum.words import words_of
from training.people.models import Organisation
from training.records.appending import ChainMovedError
from training.records.models import Record
from training.standing import deeds, programme_records
from training.standing.importing import import_programme
from training.standing.projecting import family_differences, programme_differences
from training.standing.proposing import earliest_day

ROOT = Path(__file__).parents[2]
SMALL = (ROOT / "tests/small_programme.yaml").read_text(encoding="utf-8")
PUBLISHED_FILES = sorted((ROOT / "tests/programmes").glob("*.yaml"))
SAMPLES = sorted((ROOT / "fixtures/programmes").glob("*.yaml"))
LONG_AGO = datetime(2024, 12, 1, 12, tzinfo=UTC)

pytestmark = pytest.mark.django_db


def in_days(days):
    return (timezone.localdate() + timedelta(days=days)).isoformat()


HOUSE = "Eastholm Hospital"


def run(*args):
    """The command, for the house of these tests unless another is named. Others' families are in the database."""
    whose = [] if args[0] == "check" or "--organisation" in args else ["--organisation", HOUSE]
    out = io.StringIO()
    call_command("programme", *map(str, args), *whose, stdout=out)
    return out.getvalue()


def refused(*args):
    with pytest.raises(CommandError) as refusal:
        run(*args)
    return str(refusal.value)


@pytest.fixture
def house():
    return Organisation.objects.create(title=HOUSE, kind="hospital", time_zone="Europe/Oslo")


@pytest.fixture
def kept(house):
    """A house that has published the small programme, and its export as values."""
    import_programme(organisation=house, file=read_file(SMALL), at=LONG_AGO)
    return plain(published(house.programmes.get()))


@pytest.fixture
def file(tmp_path):
    """Write values, or a text, as a file."""

    def write(data):
        path = tmp_path / "programme.yaml"
        path.write_text(data if isinstance(data, str) else written(data), encoding="utf-8")
        return path

    return write


def with_edition(data, skill="hands", number=2, first_day=None, **changes):
    """The same programme with one more edition of a skill."""
    data = copy.deepcopy(data)
    editions = next(s["editions"] for s in data["skills"] if s["code"] == skill)
    new = copy.deepcopy(editions[-1]) | {"edition": number, "in_force_from": first_day or in_days(2)}
    editions.append(new | {"older_sign_offs": "stand", "change_note": "A step more."} | changes)
    return data


def counts():
    return Programme.objects.count(), Edition.objects.count(), RuleSet.objects.count(), Record.objects.count()


# Check ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", [*SAMPLES, *PUBLISHED_FILES], ids=lambda path: path.stem)
def test_check_takes_every_sample_and_every_published_programme(path):
    assert "Nothing is wrong with it." in run("check", path)


def test_check_needs_no_database(tmp_path):
    """Not even a migrated one: a file can be checked where there is no site yet."""
    empty = tmp_path / "none.sqlite3"
    done = subprocess.run(
        [sys.executable, "manage.py", "programme", "check", str(SAMPLES[0])],
        cwd=ROOT, env=os.environ | {"DATABASE_URL": f"sqlite:///{empty}"}, capture_output=True, text=True, timeout=60, check=False,
    )  # fmt: skip

    assert (done.returncode, done.stderr) == (0, "")
    assert not empty.exists() or empty.stat().st_size == 0


def test_check_writes_nothing(file, kept):
    before = counts()
    run("check", file(with_edition(kept)))

    assert counts() == before


TOP = "code: x\ntitle: X\nnotice: N\nfacts: []\nrules: []\nskills:\n"
SKILL = "  - {code: a, title: A, plain: A, group: routine, why: W, editions: [%s]}\n"
SOUND = "{edition: 1, in_force_from: 2025-01-01, standard: {needs: [{passes: 1}]}, steps: [{code: s, text: T}]}"
CUFF = (
    "facts: [{code: cuff, title: C, plain: c, kind: choice, choices: {none: None, air: Air}}, "
    "{code: wet, title: W, plain: w, kind: yes_no}, {code: size, title: S, plain: s, kind: number}]"
)
BOMB = "a: &a [1,1,1,1,1,1,1,1,1,1]\n" + "".join(
    f"{b}: &{b} [*{a},*{a},*{a},*{a},*{a},*{a},*{a},*{a},*{a},*{a}]\n"
    for a, b in zip("abcdefgh", "bcdefghi", strict=True)
)


@pytest.mark.parametrize(
    ("text", "place", "said"),
    [
        ("code: x\ntitle: X\ncode: y\n", "line 3: code", "given twice"),
        (TOP + SKILL % SOUND.replace("steps: [{", "steps: [{text: U, "), "line 7: skills[0].editions[0].steps[0].text", "given twice"),
        ("code: !!python/object/apply:os.system [x]\n", "line 1: code", "!!python/object/apply:os.system is not taken"),
        ("code: !mine x\n", "line 1: code", "the tag !mine is not taken"),
        ("code: x\ntitle: no\n", "line 2: title", 'write true or false, or put "no" in quotes'),
        ("language: no\n", "line 1: language", 'put "no" in quotes'),
        ("sample: yes\n", "line 1: sample", "write true or false"),
        ("code: x\nfacts: [{low: .nan}]\n", "line 2: facts[0].low", '".nan" is no plain number'),
        ("facts: [{high: .inf}]\n", "line 1: facts[0].high", "no plain number"),
        ("facts: [{high: 1_000}]\n", "facts[0].high", "no plain number"),
        ("facts: [{high: 010}]\n", "facts[0].high", "no plain number"),
        ("facts: [{high: 12:30}]\n", "facts[0].high", "no plain number"),
        (f"facts: [{{high: {'9' * 5000}}}]\n", "facts[0].high", "no plain number"),
        (f"facts: [{{high: {'9' * 16}}}]\n", "facts[0].high", "no plain number"),
        ("facts: [{<<: {low: 1}}]\n", "line 1: facts[0]", "merged keys"),
        ("1: x\n", "line 1: $", "the key is no text"),
        ("yes: x\n", "line 1: $", "the key is no text"),
        ("? [a]\n: x\n", "line 1: $", "the key is no text"),
        ('code: "a\\0b"\n', "line 1: code", "control character"),
        ('code: "a\\ud800"\n', "line 1: ", "c"),
        ('"a\\0": b\n', "line 1: $", "control character"),
        (BOMB, "line ", "unfolds to more than 300,000 values"),
        ("a: &a [*a]\n", "line 1: a[0]", "holds itself"),
        ("a: [" * 3000, "$", "nest"),
        ("a: b\n---\nc: d\n", "line 2", "is no YAML"),
        ("a: [b\n", "line ", "is no YAML"),
        ("a: *nobody\n", "line 1", "undefined alias"),
        ("", "$", "is not a programme"),
        ("- code\n", "line 1: $", "is not a programme"),
        (TOP.replace("code: x", "code: a b"), "line 1: code", "is no code"),
        (TOP.replace("code: x", f"code: {'a' * 61}"), "line 1: code", "is no code"),
        (TOP.replace("title: X", f"title: {'a' * 121}"), "line 2: title", "longer than 120"),
        (TOP.replace("facts: []", "facts: [{code: f, title: F, plain: f, kind: number, low: 3, high: 2}]"), "line 4: facts[0].high", "below low"),
        (TOP.replace("facts: []", "facts: [{code: f, title: F, plain: f, kind: number, low: a}]"), "facts[0].low", "is no number"),
        (TOP + (SKILL % SOUND) * 2, "line 8: skills[1].code", '"a" is there already'),
        (TOP + SKILL % SOUND.replace("[{code: s, text: T}]", "[{code: s, text: T}, {code: s, text: U}]"), "skills[0].editions[0].steps", "already"),
        (TOP + SKILL % SOUND.replace("2025-01-01", "2025-02-30"), "line 7: skills[0].editions[0].in_force_from", "not a date"),
        (TOP + SKILL % SOUND.replace("2025-01-01", "20250101"), "skills[0].editions[0].in_force_from", "not a date"),
        (TOP + SKILL % SOUND.replace("text: T", "text: T, goes_wrong: G"), "skills[0].editions[0].steps[0].goes_wrong", "not a key"),
        (TOP + SKILL % SOUND.replace("text: T", "text: T, why: 3"), "skills[0].editions[0].steps[0].why", "no text"),
        (TOP + SKILL % f"{SOUND}, {SOUND}", "skills[0].editions[1].edition", "1 is there already"),
        (TOP + SKILL % f"{SOUND.replace('edition: 1', 'edition: 2')}, {SOUND}", "skills[0].editions[1].edition", "stands after edition 2"),
        (TOP + SKILL % SOUND.replace("steps:", "applies_when: {moon: [full]}, steps:"), "applies_when.moon", "no fact"),
        (TOP.replace("facts: []", "facts: [{code: [a], title: F, plain: f, kind: {}}]"), "line 4: facts[0].kind", "is not one of"),
        (TOP.replace("facts: []", "facts: [{code: a, title: F, plain: f, kind: yes_no, device: 1}]"), "facts[0].device", "is not true or false"),
        (TOP.replace("facts: []", CUFF) + SKILL % SOUND.replace("steps:", "applies_when: {cuff: [helium]}, steps:"), "line 7: skills[0].editions[0].applies_when.cuff[0]", "is not one of none, air"),
        (TOP.replace("facts: []", CUFF) + SKILL % SOUND.replace("steps:", "applies_when: {wet: [maybe]}, steps:"), "applies_when.wet[0]", "is not true or false"),
        (TOP.replace("facts: []", CUFF) + SKILL % SOUND.replace("steps:", "applies_when: {size: [big]}, steps:"), "applies_when.size[0]", "is no number"),
        (TOP + SKILL % SOUND.replace("steps:", "requires: [{skill: b}], steps:"), "requires[0].skill", '"b" is no skill here'),
        (TOP + SKILL % SOUND.replace("steps:", "requires: [{skill: a}], steps:"), "skills[0]", "a needs a"),
    ],
)  # fmt: skip
@pytest.mark.parametrize("loader", ["CSafeLoader", "SafeLoader"])
def test_check_refuses_with_place_and_reason(file, monkeypatch, loader, text, place, said):
    """By libyaml and without it alike."""
    monkeypatch.setattr(programme_yaml, "_LOADER", getattr(yaml, loader))
    answer = refused("check", file(text))

    assert any(place in line and said in line for line in answer.splitlines()), answer


def test_check_names_everything_at_once(file):
    broken = (
        SMALL.replace("title: Small programme", "title: ''")
        .replace("passes: 2", "passes: many")
        .replace("cuff: [air]", "moon: [full]")
    )
    answer = refused("check", file(broken))
    where = dict(enumerate(broken.splitlines(), 1))

    assert answer.splitlines()[-1] == "3 problems."
    for line in answer.splitlines()[:-1]:
        number = int(line.split(":")[0].removeprefix("line "))
        assert any(word in where[number] for word in ("title: ''", "passes: many", "moon: [full]")), line


def test_ten_megabytes_are_refused_before_they_are_read(tmp_path, monkeypatch):
    large = tmp_path / "large.yaml"
    large.write_bytes(b"# nothing\n" * 1_000_000)
    monkeypatch.setattr(Path, "open", lambda *_args, **_kw: pytest.fail("it was opened"))
    monkeypatch.setattr(yaml, "compose", lambda *_args: pytest.fail("it was parsed"))

    assert "10,000,000 bytes and is larger than 5 MB" in refused("check", large)


@pytest.mark.parametrize(
    ("content", "said"), [(b"code: x\ntitle: \xff\n", "line 2: $: is no UTF-8 text"), (b"code: \x07\n", "is no YAML")]
)
def test_bytes_that_are_no_text(tmp_path, content, said):
    path = tmp_path / "odd.yaml"
    path.write_bytes(content)

    assert said in refused("check", path)


def test_no_such_file():
    assert "nowhere.yaml: No such file" in refused("check", "nowhere.yaml")


# Out and in again -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", [*SAMPLES, *PUBLISHED_FILES], ids=lambda path: path.stem)
def test_in_and_out_keeps_the_meaning_and_out_again_every_byte(path, house, tmp_path):
    there = Organisation.objects.create(title="Another house", kind="agency", time_zone="Europe/Oslo")
    one, two = tmp_path / "one.yaml", tmp_path / "two.yaml"
    source = read_file(path.read_text(encoding="utf-8"))
    import_programme(organisation=house, file=source, at=LONG_AGO)
    run("export", source.code, "--organisation", house, "--out", one)
    import_programme(organisation=there, file=read_file(one.read_text(encoding="utf-8")), at=LONG_AGO)
    run("export", source.code, "--organisation", there, "--out", two)

    assert plain(read_file(one.read_text(encoding="utf-8")).read.data) == plain(source.read.data)
    assert one.read_bytes() == two.read_bytes()


@pytest.mark.parametrize("path", PUBLISHED_FILES, ids=lambda path: path.stem)
def test_every_published_programme_comes_in_by_the_command(path, house):
    run("import", path, "--from", in_days(2))
    programme = house.programmes.get()

    assert programme.code == path.stem
    assert {e.in_force_from.isoformat() for e in programme.editions.all()} == {in_days(2)}
    assert list(programme_differences(programme.public_id)) == []


def test_an_export_holds_every_edition_with_its_day_policy_and_note(house, kept, file, tmp_path):
    run("import", file(with_edition(kept, older_sign_offs={"recheck_by": in_days(30)})))
    out = tmp_path / "out.yaml"
    run("export", "small", "--out", out)
    hands = next(s for s in read_file(out.read_text(encoding="utf-8")).read.data["skills"] if s["code"] == "hands")

    assert [e["edition"] for e in hands["editions"]] == [1, 2]
    assert hands["editions"][1]["older_sign_offs"] == {"recheck_by": in_days(30)}
    assert hands["editions"][1]["change_note"] == "A step more."


def test_sets_with_a_note_and_a_programme_without_skills_go_out_and_in(house, kept, file, tmp_path):
    later = copy.deepcopy(kept["rules"][0]) | {"in_force_from": in_days(2), "change_note": "One more set."}
    bare = {"code": "bare", "title": "Bare", "notice": "N", "facts": [], "skills": [], "rules": []}
    run("import", file(kept | {"rules": [*kept["rules"], later]}))
    run("import", file(bare))
    for code in ("small", "bare"):
        run("export", code, "--out", tmp_path / f"{code}.out")

    assert read_file((tmp_path / "small.out").read_text()).rules[1]["change_note"] == "One more set."
    assert plain(read_file((tmp_path / "bare.out").read_text()).read.data) == bare


def test_of_rules_recorded_twice_for_one_day_the_last_go_out(house, kept, file, tmp_path):
    """They are the ones in force; who brings the file in again has nothing to do."""
    programme = house.programmes.get()
    again = copy.deepcopy(kept["rules"][0])
    next(iter(again["sets"].values()))["title"] = "Corrected"
    RuleSet.objects.create(
        programme=programme, in_force_from=date.fromisoformat(again["in_force_from"]), recorded_at=LONG_AGO + timedelta(hours=1), body=again
    )  # fmt: skip
    run("export", "small", "--out", tmp_path / "out")

    assert [plain(r) for r in read_file((tmp_path / "out").read_text()).rules] == [again]
    assert "Nothing was done" in run("import", tmp_path / "out")


def test_one_changed_word_is_one_changed_line(kept):
    altered = copy.deepcopy(kept)
    altered["skills"][0]["editions"][0]["steps"][1]["plain"] = "Wash before you start."
    before, after = written(kept).splitlines(), written(altered).splitlines()

    assert [pair for pair in zip(before, after, strict=True) if pair[0] != pair[1]] == [
        ("            plain: Wash first.", "            plain: Wash before you start.")
    ]


TEXTS = st.text(st.characters(exclude_categories=["Cs", "Cc"], include_characters="\n\t"), min_size=1).filter(str.strip)


@given(st.dictionaries(st.sampled_from(["notice", "title"]), TEXTS), st.floats(0.001, 1e6), TEXTS)
def test_whatever_is_written_is_read_again(words, number, step):
    data = yaml.safe_load(SMALL.replace("2025-01-01", "'2025-01-01'")) | words
    data["title"] = data["title"].strip()[:120].strip() or "T"
    data["facts"][1]["high"] = round(number, 6) + 12
    data["skills"][0]["editions"][0]["steps"][0]["plain"] = step

    assert plain(read_file(written(data)).read.data) == plain(data)


@pytest.mark.parametrize(
    "text",
    [
        "no",
        "2025-01-01",
        "010",
        "~",
        "1.5",
        "# not a comment",
        "a: b",
        "- x",
        "=",
        "<<",
        " x ",
        "é\u2028",
        "*a",
        "!x",
        "a\n\n b \n",
    ],
)
def test_a_text_that_looks_like_something_else_stays_a_text(text):
    assert (
        read_file(written(yaml.safe_load(SMALL.replace("2025-01-01", "'2025-01-01'")) | {"notice": text})).about[
            "notice"
        ]
        == text
    )


def _paths(value, path=()):
    yield path
    for key, inner in value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ():
        yield from _paths(inner, (*path, key))


SOUND_VALUES = plain(read_file(SMALL).read.data)
PLACES = [path for path in _paths(SOUND_VALUES) if path]
ODD_VALUES = st.one_of(
    st.none(), st.booleans(), st.integers(-5, 5), st.sampled_from(["", "x", "2025-01-01", "P1Y", "recheck", [], {}, [[]], [{}], {"x": {}}, ["x", "x"]])
)  # fmt: skip


@given(st.sampled_from(PLACES), ODD_VALUES)
def test_a_wrong_value_anywhere_is_refused_in_words_or_taken(place, value):
    """Never an error of the program's own, whatever stands where."""
    data = copy.deepcopy(SOUND_VALUES)
    holder = data
    for key in place[:-1]:
        holder = holder[key]
    holder[place[-1]] = value
    with contextlib.suppress(RefusedError):
        assert read_file(written(data)).code


def test_an_export_never_writes_over_a_file_unasked(house, kept, tmp_path):
    out = tmp_path / "out.yaml"
    out.write_text("mine")

    assert "is there already" in refused("export", "small", "--out", out)
    assert out.read_text() == "mine"
    run("export", "small", "--out", out, "--replace")
    assert [p.name for p in tmp_path.iterdir()] == ["out.yaml"]


def test_a_code_that_is_not_there(house, kept, tmp_path):
    assert 'has no programme "large". It has small.' in refused("export", "large", "--out", tmp_path / "x.yaml")


# What an import may do ------------------------------------------------------------------------------------


def test_the_same_again_is_nothing_to_do(house, kept, file):
    before = counts()

    assert "the same in every word. Nothing was done." in run("import", file(kept))
    assert counts() == before


def test_a_new_edition_is_published_beside_the_old(house, kept, file):
    answer = run("import", file(with_edition(kept)))
    programme = house.programmes.get()

    assert [e.number for e in programme.editions.filter(skill="hands")] == [1, 2]
    assert f"hands, edition 2, from {in_days(2)}" in answer
    assert "1 editions published, 5 there already" in answer
    assert list(programme_differences(programme.public_id)) == []


def test_a_published_edition_with_other_words_is_refused(house, kept, file):
    kept["skills"][1]["editions"][0]["steps"][2]["measure"]["high"] = 15
    path = file(kept)
    before = counts()
    answer = refused("import", path)
    line = int(answer.split(":")[0].removeprefix("line "))

    assert (
        'skills[1].editions[0].steps[2].measure.high: edition 1 of "suction" is published and says otherwise' in answer
    )
    assert path.read_text(encoding="utf-8").splitlines()[line - 1].strip() == "high: 15"
    assert counts() == before


def _without_an_edition(data):
    data["skills"][0]["editions"] = [data["skills"][0]["editions"][0] | {"edition": 7, "in_force_from": in_days(2)}]


def _other_rules(data):
    next(iter(data["rules"][0]["sets"].values()))["title"] = "Something else"


def _rules_of_yesterday(data):
    data["rules"].append(copy.deepcopy(data["rules"][0]) | {"in_force_from": in_days(-1)})


def _edition_of_yesterday(data):
    data.update(with_edition(data, first_day=in_days(-1)))


def _one_good_one_bad(data):
    data.update(with_edition(with_edition(data), skill="suction", first_day=in_days(-1)))


@pytest.mark.parametrize(
    ("change", "place", "said"),
    [
        (_without_an_edition, "skills[0].editions", 'edition 1 of "hands" is published and is not in the file'),
        (_other_rules, "rules[0].sets.", "are published and say otherwise"),
        (_rules_of_yesterday, "rules[1].in_force_from", "has begun for somebody"),
        (_edition_of_yesterday, "skills[0].editions[1].in_force_from", "has begun for somebody"),
        (_one_good_one_bad, "skills[1].editions[1].in_force_from", "has begun for somebody"),
    ],
)
def test_what_may_not_come_in_leaves_nothing_behind(house, kept, file, change, place, said):
    change(kept)
    before = counts()
    answer = refused("import", file(kept))

    assert answer.startswith("line ")
    assert place in answer
    assert said in answer
    assert counts() == before


def _retired(data, *codes):
    for fact in data["facts"]:
        if fact["code"] in codes:
            fact["retired"] = True
    return data


CHECKS = {"spares": {"tube": "tube_id_mm", "step_mm": 0.5, "source": "common practice, no source"}}


@pytest.mark.parametrize(
    ("code", "place"),
    [
        ("suction", "skills[1].editions[0].applies_when.suction"),
        ("tube_id_mm", "skills[1].editions[0].on_change.tube_id_mm"),
        ("cuff", "skills[1].editions[0].steps[4].applies_when.cuff"),
    ],
)
@pytest.mark.parametrize("act", ["import", "check"])
def test_a_retired_fact_that_an_edition_in_force_names_is_refused(kept, file, act, code, place):
    path = file(_retired(kept, code))
    before = counts()
    answer = refused(act, path)
    said = next(line for line in answer.splitlines() if f"{place}:" in line)
    lines = path.read_text(encoding="utf-8").splitlines()

    assert said.endswith(f"{place}: {code} is retired, and edition 1 is in force or to come")
    assert code in lines[int(said.split(":")[0].removeprefix("line ")) - 1]
    assert counts() == before


def test_a_retired_fact_that_a_check_reads_is_refused(kept, file):
    answer = refused("import", file(_retired(kept | {"checks": CHECKS}, "tube_id_mm")))

    assert "checks.spares.tube: tube_id_mm is retired, and this check reads it" in answer


def test_a_retired_fact_in_a_new_programme_is_refused(house, file):
    data = with_edition(yaml.safe_load(SMALL.replace("2025-01-01", f"'{in_days(2)}'")), first_day=in_days(9))

    assert "suction is retired" in refused("import", file(_retired(data, "suction")))


@pytest.mark.parametrize(("first_day", "is_taken"), [(-3, True), (5, False)])
def test_an_edition_that_is_over_may_name_a_retired_fact(house, file, first_day, is_taken):
    """Edition 2 of suctioning asks for no fact; on the day before its first, edition 1 still does."""
    facts = ("suction", "cuff", "tube_id_mm")
    bare = {"applies_when": {}, "on_change": {}, "steps": [{"code": "s01", "text": "Washes hands"}]}
    data = with_edition(yaml.safe_load(SMALL), "suction", first_day=in_days(first_day), **bare)
    import_programme(organisation=house, file=read_file(written(data)), at=LONG_AGO)
    kept = plain(published(house.programmes.get()))

    if is_taken:
        assert "names, reasons and cautions" in run("import", file(_retired(kept, *facts)))
    else:
        assert "suction is retired, and edition 1 is in force" in refused("import", file(_retired(kept, *facts)))


def _other_kind(fact):
    fact.update(kind="yes_no")
    for key in ("unit", "low", "high"):
        del fact[key]


def _without_a_choice(fact):
    del fact["choices"]["none"]
    fact["choice_order"].remove("none")


@pytest.mark.parametrize(
    ("code", "change", "said"),
    [
        ("tube_id_mm", _other_kind, "its kind is published: care plans state it so"),
        ("tube_id_mm", lambda fact: fact.update(unit="cm"), "its unit is published: care plans state it so"),
        ("cuff", _without_a_choice, "is published and stays"),
    ],
)
def test_a_published_fact_keeps_its_kind_its_unit_and_its_choices(kept, file, code, change, said):
    change(next(fact for fact in kept["facts"] if fact["code"] == code))
    before = counts()

    assert said in refused("import", file(kept))
    assert counts() == before


def test_a_published_fact_cannot_be_left_out(house, file):
    data = yaml.safe_load(SMALL)
    data["facts"].append({"code": "room", "title": "Has a room", "plain": "a room", "kind": "yes_no"})
    import_programme(organisation=house, file=read_file(written(data)), at=LONG_AGO)
    kept = plain(published(house.programmes.get()))
    kept["facts"] = [fact for fact in kept["facts"] if fact["code"] != "room"]

    assert 'facts: "room" is published and is not in the file; retire it' in refused("import", file(kept))


def test_a_skill_that_is_published_cannot_be_left_out(house, kept, file):
    code = kept["skills"][-1]["code"]
    for part in kept["rules"]:
        for set_ in part["sets"].values():
            set_["skills"] = [s for s in set_["skills"] if s != code]
    del kept["skills"][-1]

    assert f'skills: "{code}" is published and is not in the file' in refused("import", file(kept))


def test_new_words_of_a_skill_are_taken_and_the_chain_says_so(house, kept, file):
    kept["skills"][0]["cautions"].append("Ask before you use hand rub.")
    answer = run("import", file(kept))
    programme = house.programmes.get()

    assert "names, reasons and cautions as the file says them" in answer
    assert programme.about["skills"][0]["cautions"][-1] == "Ask before you use hand rub."
    assert list(programme_differences(programme.public_id)) == []


def test_families_see_a_new_edition_at_once(cast, file):
    programme = cast.north.programme
    run("import", file(with_edition(plain(published(programme)))), "--organisation", cast.north.organisation)

    assert list(family_differences(cast.north.family.public_id)) == []


def test_from_leaves_out_what_came_before(house, kept, file):
    data = with_edition(with_edition(kept, first_day="2026-01-01"), number=3, first_day=in_days(400))
    data["code"] = "other"
    run("import", file(data), "--from", in_days(2))
    hands = house.programmes.get(code="other").editions.filter(skill="hands")

    assert [(e.number, e.in_force_from.isoformat()) for e in hands] == [(2, in_days(2)), (3, in_days(400))]


def test_from_is_for_a_programme_that_is_new(house, kept, file):
    assert "--from is for a programme that is new there" in refused("import", file(kept), "--from", in_days(2))


def test_a_new_programme_of_the_past_is_refused_with_its_lines(house, file):
    answer = refused("import", file(SMALL))

    assert "rules[0].in_force_from: has begun for somebody" in answer
    assert not house.programmes.exists()


@pytest.mark.parametrize("error", [IntegrityError("unique"), ChainMovedError("chain")])
def test_two_at_once(house, file, monkeypatch, error):
    """The second finds the number taken, and is told so."""

    def taken(**_kw):
        raise error

    monkeypatch.setattr(programme_records, "append", taken)
    monkeypatch.setattr(deeds, "append", taken)

    assert "Nothing was done" in refused("import", file(SMALL), "--from", in_days(2))
    assert not house.programmes.exists()


# Whose ----------------------------------------------------------------------------------------------------


def test_with_several_organisations_one_is_named(house, cast, file):
    assert "There is no organisation" in refused("import", file(SMALL), "--organisation", "Nobody's")
    with pytest.raises(CommandError, match="--organisation TITLE says which"):
        call_command("programme", "import", str(file(SMALL)), "--from", in_days(2))


def test_the_only_organisation_need_not_be_named(house, cast, file, monkeypatch):
    monkeypatch.setattr(Organisation, "objects", Organisation.objects.filter(pk=house.pk))
    call_command("programme", "import", str(file(SMALL)), "--from", in_days(2), stdout=io.StringIO())

    assert house.programmes.get().code == "small"


def test_without_an_organisation(file, monkeypatch):
    monkeypatch.setattr(Organisation, "objects", Organisation.objects.none())
    with pytest.raises(CommandError, match="There is no organisation yet"):
        call_command("programme", "import", str(file(SMALL)), "--from", in_days(2))


def test_another_organisations_programme_is_neither_seen_nor_touched(cast, file, tmp_path):
    before = published(cast.south.programme)
    run("import", file(with_edition(plain(published(cast.north.programme)))), "--organisation", cast.north.organisation)

    assert published(cast.south.programme) == before


def test_the_deed_refuses_without_lines_too(house, kept):
    """A file read from no file, such as a page's."""
    kept["skills"][0]["editions"][0]["steps"][0]["text"] = "Other"
    whole = read_file(written(kept))
    object.__setattr__(whole, "read", None)
    with pytest.raises(RefusedError) as refusal:
        import_programme(organisation=house, file=whole, at=timezone.now())

    assert [p.path for p in refusal.value.problems] == ["skills[0].editions[0].steps[0].text"]


def test_a_new_programmes_first_day_has_not_begun_where_the_organisation_is(house, file):
    """Midnight in Oslo is 23:00 UTC."""
    day = date(2027, 3, 1)
    whole = read_file(SMALL, from_day=day)
    with pytest.raises(RefusedError):
        import_programme(organisation=house, file=whole, at=datetime(2027, 2, 28, 23, tzinfo=UTC))
    made = import_programme(organisation=house, file=whole, at=datetime(2027, 2, 28, 22, 59, tzinfo=UTC))

    assert made.is_new


# What the page about it says ------------------------------------------------------------------------------

PAGE = (ROOT / "docs/programme-file.md").read_text(encoding="utf-8")


def test_the_example_in_the_page_is_a_programme_in_the_form_of_an_export(house):
    example = PAGE.split("```yaml\n")[1].split("```")[0]
    file = read_file(example, from_day=date.fromisoformat(in_days(2)))
    import_programme(organisation=house, file=file, at=timezone.now())

    assert written(read_file(example).read.data) == example


def test_the_page_names_every_key():
    """Those of the words as the reader knows them, and those of the rules as the schema of a case does."""
    schema = json.loads((ROOT / "competency/case.schema.json").read_text(encoding="utf-8"))
    parts = ("edition", "standard", "need", "step", "measure", "rules", "alternative", "people", "item", "prerequisite")
    of_rules = {key for part in parts for key in schema["$defs"].get(part, {}).get("properties", {})}
    of_words = TOP_KEYS | FACT | SKILL_KEYS | EDITION_WORDS | STEP_WORDS | SET | ITEM_WORDS
    unnamed = {key for key in of_rules | of_words if f"`{key}`" not in PAGE}

    assert len(of_rules) > 20
    assert unnamed - {"recorded_at"} == set()


def test_the_pages_example_of_a_problem_is_one(file):
    text = "\n".join(SMALL.splitlines()).replace("passes: 2", "passes: many")
    said = PAGE.split("```\nline ")[1].split("\n")[0]

    assert said.split(": ", 1)[1] in refused("check", file(text))


# The order of choices --------------------------------------------------------------------------------------

AGES = "{code: ages, title: Age group, plain: age, kind: choice, choices: {infant: Infant, child: Child, adult: Adult}}"


def test_choices_stay_in_the_files_order_through_the_database_and_out_again(house, tmp_path):
    """A record and PostgreSQL's jsonb both sort their keys; an age group by the alphabet begins with the adult."""
    text = SMALL.replace("facts:\n", f"facts:\n  - {AGES}\n", 1)
    import_programme(organisation=house, file=read_file(text), at=LONG_AGO)
    programme = Programme.objects.get(organisation=house)
    fact = words_of(programme, [], []).facts["ages"]
    out = tmp_path / "out.yaml"
    run("export", "small", "--out", out)

    assert list(fact["choices"]) == ["infant", "child", "adult"]
    assert list(read_file(out.read_text(encoding="utf-8")).read.data["facts"][0]["choices"]) == list(fact["choices"])
    assert list(programme_differences(programme.public_id)) == []


def test_another_order_of_choices_is_another_file(house, file):
    text = SMALL.replace("facts:\n", f"facts:\n  - {AGES}\n", 1)
    import_programme(organisation=house, file=read_file(text), at=LONG_AGO)
    turned = text.replace("{infant: Infant, child: Child, ", "{child: Child, infant: Infant, ")

    assert "names, reasons and cautions" in run("import", file(turned))
    assert list(words_of(house.programmes.get(), [], []).facts["ages"]["choices"]) == ["child", "infant", "adult"]


# First days ------------------------------------------------------------------------------------------------

AT = datetime(2026, 5, 14, 13, 0, tzinfo=UTC)  # the 15th in Auckland, the 14th in Oslo


@pytest.mark.parametrize(
    ("zone", "first_day", "is_taken"),
    [
        ("Europe/Oslo", "2026-05-14", False),
        ("Europe/Oslo", "2026-05-15", True),
        ("Pacific/Auckland", "2026-05-15", False),
        ("Pacific/Auckland", "2026-05-16", True),
        ("Pacific/Pago_Pago", "2026-05-14", False),
        ("Pacific/Pago_Pago", "2026-05-15", True),
    ],
)
def test_an_edition_begins_on_no_day_that_has_begun_for_the_organisation(zone, first_day, is_taken):
    house = Organisation.objects.create(title=HOUSE, kind="hospital", time_zone=zone)
    import_programme(organisation=house, file=read_file(SMALL), at=LONG_AGO)
    more = read_file(written(with_edition(plain(published(house.programmes.get())), first_day=first_day)))

    if is_taken:
        assert import_programme(organisation=house, file=more, at=AT).editions == (("hands", 2),)
    else:
        with pytest.raises(RefusedError, match="has begun for somebody") as refusal:
            import_programme(organisation=house, file=more, at=AT)
        assert [p.path for p in refusal.value.problems] == ["skills[0].editions[1].in_force_from"]


@pytest.mark.parametrize(("first_day", "is_taken"), [("2026-05-15", False), ("2026-05-16", True)])
def test_nor_for_a_family_that_follows_the_programme(cast, first_day, is_taken):
    """By the same measure as a publication on the site's pages: the family lives where it is the 15th already."""
    north = cast.north
    north.family.time_zone = "Pacific/Auckland"
    north.family.save(update_fields=["time_zone"])
    more = read_file(written(with_edition(plain(published(north.programme)), first_day=first_day)))

    assert earliest_day(north.programme, AT).isoformat() == "2026-05-16"
    if is_taken:
        assert import_programme(organisation=north.organisation, file=more, at=AT).editions == (("hands", 2),)
    else:
        with pytest.raises(RefusedError, match="2026-05-16 is the earliest"):
            import_programme(organisation=north.organisation, file=more, at=AT)


def test_nor_may_sets_begin_on_such_a_day(house):
    import_programme(organisation=house, file=read_file(SMALL), at=LONG_AGO)
    data = plain(published(house.programmes.get()))
    data["rules"].append({**copy.deepcopy(data["rules"][-1]), "in_force_from": "2026-05-14"})

    with pytest.raises(RefusedError, match=r"rules\[1\].in_force_from: has begun for somebody"):
        import_programme(organisation=house, file=read_file(written(data)), at=AT)
