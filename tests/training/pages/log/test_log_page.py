"""The log on its page and as a file."""

from __future__ import annotations

import csv
import io
from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests.cast import NOW, TODAY, show
from training.documents.csv_cells import csv_cell
from training.log.models import Entry
from training.log.writing import About, Who, deed
from training.pages.log.words import ACCESS, DEEDS, sentence
from training.records.models import Record

ROLES = ("educator", "supervisor", "administrator", "auditor")


@pytest.fixture
def auditor(cast, signed_in):
    return signed_in(cast.north.auditor)


@pytest.fixture
def shown(auditor):
    """The sentences a page of the log shows."""

    def get(query="", **asked):
        answer = auditor.post("/log/" + query, asked, follow=True) if asked else auditor.get("/log/" + query)
        shown.address = answer.request["PATH_INFO"] + "?" + answer.request["QUERY_STRING"]
        return [(row["entry"].who_name, row["sentence"]) for row in answer.context["entries"]]

    return get


def told(home, what, when=NOW, who="Somebody", about="", **words):
    by = Who(id="", name=who, role="")
    return deed(organisation=home.organisation, what=what, by=by, at=when, of=About(id=about, name=about), **words)


@pytest.mark.parametrize("page", ["log", "log-csv"])
@pytest.mark.parametrize(("role", "status"), list(zip(ROLES, (403, 403, 200, 200), strict=True)))
def test_administrator_and_auditor_read_it(cast, signed_in, page, role, status):
    answer = signed_in(getattr(cast.north, role)).get(reverse(page))
    assert answer.status_code == status
    assert b"".join(answer)  # a file is closed once it is read


def test_it_holds_the_houses_own_alone(cast, auditor):
    text = auditor.get("/log/").content.decode()
    file = b"".join(auditor.get("/log/log.csv").streaming_content).decode()

    for foreign in ("Abara-Voss", "Brindle", cast.south.educator.user.full_name):
        assert foreign not in text
        assert foreign not in file


def test_the_newest_stands_first(cast, shown):
    told(cast.north, "first", NOW + timedelta(hours=1))
    told(cast.north, "second", NOW + timedelta(hours=2))

    assert [s for _who, s in shown()][:2] == ["Signed: second", "Signed: first"]


def test_looking_at_the_log_is_in_the_log(auditor):
    auditor.get("/log/")

    assert Entry.objects.filter(kind="read", view="log").exists()


def test_a_record_is_a_link(cast, auditor):
    home = cast.north
    made = show(home, home.mother, "hands", TODAY)

    assert (
        f'href="{reverse("record", args=[home.family.public_id, made.number])}"'
        in auditor.get("/log/").content.decode()
    )


def test_one_family_by_its_id(cast, shown):
    home = cast.north
    show(home, home.mother, "hands", TODAY)
    found = shown(f"?family={home.family.public_id}")

    assert (home.educator.signed_name, "Signed: Demonstration (Marit Okonjo-Lind, Hand hygiene)") in found


@pytest.mark.parametrize("query", ["?family=nonsense", "?family=00000000-0000-0000-0000-000000000001"])
def test_a_family_that_is_none_of_theirs_is_not_found(auditor, query):
    assert auditor.get("/log/" + query).status_code == 404


def test_the_other_houses_family_is_not_found(cast, auditor):
    assert auditor.get(f"/log/?family={cast.south.family.public_id}").status_code == 404


@pytest.mark.parametrize(
    ("asked", "is_found"),
    [
        ({"kind": "deed"}, True),
        ({"kind": "read"}, False),
        ({"family": "okonjo"}, True),
        ({"family": "ilse"}, True),
        ({"family": "quist"}, False),
        ({"person": "number"}, True),
        ({"person": "marit"}, False),
        ({"first": "2026-05-14"}, True),
        ({"first": "2026-05-15"}, False),
        ({"last": "2026-05-14"}, True),
        ({"last": "2026-05-13"}, False),
        ({"first": "2026-05-14", "last": "2026-05-14", "kind": "deed", "family": "okonjo"}, True),
    ],
)
def test_what_is_asked_for(cast, shown, asked, is_found):
    home = cast.north
    show(home, home.mother, "hands", TODAY)

    assert (
        (home.educator.signed_name, "Signed: Demonstration (Marit Okonjo-Lind, Hand hygiene)") in shown(**asked)
    ) is is_found


def test_a_day_is_whole_where_the_organisation_is(cast, shown):
    told(cast.north, "late", NOW.replace(hour=21, minute=59))  # 23:59 in Oslo
    told(cast.north, "later", NOW.replace(hour=22, minute=1))
    found = [s for _who, s in shown(first="2026-05-14", last="2026-05-14")]

    assert ("Signed: late" in found, "Signed: later" in found) == (True, False)


@pytest.mark.parametrize("asked", [{"first": "yesterday"}, {"first": "2026-05-14", "last": "2026-05-13"}])
def test_days_that_cannot_be_read_are_said(auditor, asked):
    assert auditor.post("/log/", asked).context["form"].errors


def test_names_stand_in_no_address(auditor):
    answer = auditor.post("/log/", {"family": "okonjo", "person": "marit"})

    assert "okonjo" not in answer.url
    assert "marit" not in answer.url


def test_pages_follow_each_other_without_a_gap(cast, auditor):
    for n in range(120):
        told(cast.north, f"n{n}", NOW + timedelta(days=1, seconds=n // 7))  # seven at the same instant
    seen, address = [], "/log/"
    for _ in range(3):
        page = auditor.get(address).context
        seen += [row["entry"].what for row in page["entries"]]
        address = "/log/" + page["older"]

    assert [what for what in seen if what.startswith("n")][:120] == [f"n{n}" for n in reversed(range(120))]


@pytest.mark.parametrize("before", ["x", "-1", "999999999", "9" * 400, "²"])
def test_a_page_nobody_was_on_is_the_first(auditor, before):
    assert auditor.get(f"/log/?before={before}").context["newest"] == ""


def test_the_other_houses_entry_is_no_place_to_go_on_from(cast, auditor):
    foreign = told(cast.south, "x", NOW - timedelta(days=900))

    assert auditor.get(f"/log/?before={foreign.pk}").context["newest"] == ""


def test_it_asks_as_much_however_long_it_is(cast, auditor):
    def asked():
        with CaptureQueriesContext(
            connection,
        ) as queries:
            auditor.get("/log/")
        return len(queries)

    asked()  # the first look reads what is read once
    few = asked()
    for n in range(60):
        told(cast.north, f"n{n}")

    assert asked() == few


# The file


def rows(auditor, query=""):
    text = b"".join(auditor.get("/log/log.csv" + query).streaming_content).decode("utf-8-sig")
    return list(csv.DictReader(io.StringIO(text)))


def test_the_file_holds_what_was_asked_for(cast, auditor):
    home = cast.north
    show(home, home.mother, "hands", TODAY)
    found = rows(auditor, f"?family={home.family.public_id}")

    assert {row["family"] for row in found} == {"Okonjo-Lind"}
    assert {row["record"] for row in found} >= {
        str(n) for n in range(1, Record.objects.of_chain(home.family.public_id).count())
    }


def test_taking_the_file_is_a_deed_in_it(auditor):
    assert rows(auditor)[0]["what"] == "Took this log as a file"


@pytest.mark.parametrize("nasty", ['=HYPERLINK("x")', "+1", "-1", "@x", "\tx", " =1+1", "＝1"])
def test_nothing_in_a_cell_is_a_formula(cast, auditor, nasty):
    told(cast.north, "x", NOW + timedelta(days=1), who=nasty)

    assert rows(auditor)[0]["who"] == f"'{nasty}"


@pytest.mark.parametrize(("value", "cell"), [("Ng", "Ng"), (12, "12"), (None, ""), ("a=b", "a=b"), ("", "")])
def test_any_other_cell_stays(value, cell):
    assert csv_cell(value) == cell


# Words


def test_every_template_can_be_filled(cast):
    for what in DEEDS:
        assert "%(" not in sentence(told(cast.north, what))


@pytest.mark.parametrize("what", ACCESS)
def test_every_coming_and_going_has_its_sentence(what):
    assert sentence(Entry(kind="access", what=what)) == str(ACCESS[what]) % {"member": "–"}


# From the family's page


@pytest.mark.parametrize(("role", "links"), list(zip(ROLES, (0, 0, 1, 1), strict=True)))
def test_who_looked_is_a_link_for_who_may_read_it(cast, signed_in, role, links):
    family = cast.north.family
    text = signed_in(getattr(cast.north, role)).get(reverse("family", args=[family.public_id])).content.decode()

    assert text.count(f'href="/log/?family={family.public_id}"') == links
