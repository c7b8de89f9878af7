"""The board by site: what is offered, what is found, in no address, in the files, at the same cost."""

from __future__ import annotations

import csv
import io

import pytest

from tests.cast import NOW, TODAY, make_family
from tests.training.kept import keep, place
from tests.training.pages.board.test_board import make_ready
from tests.training.pages.board.test_board_asked import copies, names, queries
from training.pages.board.asked import Asked
from training.pages.board.first_rows import first_rows
from training.standing.models import SavedFilter


@pytest.fixture
def north(cast):
    """Okonjo-Lind in Ward 3; Quist nowhere."""
    place(cast.north.educator, cast.north.family, "Ward 3")
    return cast.north


@pytest.fixture
def supervisor(north, signed_in):
    return signed_in(north.supervisor)


def ask(client, **asked):
    return client.post("/board/", asked, follow=True)


def offered(answer):
    field = answer.context["form"].fields.get("site")
    return [value for value, _label in field.choices] if field else None


# What is offered


def test_the_sites_in_use_are_offered_in_order(north, supervisor):
    for n, site in enumerate(("Ward 10", "Ås", "ward 3", "Ward 2", "")):
        place(north.educator, make_family(north, f"Family {n}", "Ilse"), site)

    assert offered(supervisor.get("/board/")) == ["", "Ås", "Ward 2", "Ward 3", "Ward 10"]


def test_where_no_site_is_in_use_none_is_asked_for(cast, signed_in):
    assert offered(signed_in(cast.north.supervisor).get("/board/")) is None


def test_another_organisation_s_sites_are_not_offered(cast, supervisor):
    place(cast.south.educator, cast.south.family, "Elsewhere")

    assert offered(supervisor.get("/board/")) == ["", "Ward 3"]


def test_assigned_only_is_offered_the_sites_of_their_own(north, signed_in):
    place(north.educator, north.families[1], "Ward 5")
    north.organisation.assigned_only = True
    north.organisation.save()
    north.family.assignments.update(until=NOW)
    answer = ask(signed_in(north.educator), site="Ward 3")

    assert offered(signed_in(north.educator).get("/board/")) == ["", "Ward 5"]
    assert names(answer) == []


# What is found


def test_a_site(supervisor):
    assert names(ask(supervisor, site="Ward 3")) == ["Okonjo-Lind"]
    assert len(names(ask(supervisor, site=""))) == 2


@pytest.mark.parametrize("spelled", ["WARD 3", "ward 3"])
def test_case_makes_no_other_site(north, supervisor, spelled):
    place(north.educator, north.families[1], spelled)

    for asked in ("Ward 3", spelled):
        assert names(ask(supervisor, site=asked)) == ["Okonjo-Lind", "Quist"]


def test_an_accent_makes_another_site(north, supervisor):
    place(north.educator, north.families[0], "Bø")
    place(north.educator, north.families[1], "Bo")

    assert [names(ask(supervisor, site=site)) for site in ("Bø", "BØ", "Bo")] == [
        ["Okonjo-Lind"],
        ["Okonjo-Lind"],
        ["Quist"],
    ]


def test_with_other_filters(north, supervisor):
    make_ready(north, north.families[1])
    place(north.educator, north.families[1], "Ward 3")

    assert names(ask(supervisor, site="Ward 3", show="ready")) == ["Quist"]
    assert names(ask(supervisor, site="Ward 3", q="okonjo")) == ["Okonjo-Lind"]
    assert names(ask(supervisor, site="Ward 3", q="quist", show="attention")) == []
    assert names(ask(supervisor, site="Ward 3", programme=str(north.programme.public_id))) == ["Okonjo-Lind", "Quist"]


def test_a_closed_file_is_found_too(north, supervisor):
    keep(north.supervisor, north.family, "closing", on=str(TODAY), why="moved", note="")

    assert names(ask(supervisor, site="Ward 3")) == []
    assert names(ask(supervisor, site="Ward 3", show="closed")) == ["Okonjo-Lind"]


@pytest.mark.parametrize("site", ["Ward 9", "Ward", "%", "_", "' OR 1=1 --", "x" * 60])
def test_a_site_that_no_family_has_fits_no_family(supervisor, site):
    answer = ask(supervisor, site=site)

    assert names(answer) == []
    assert offered(answer)[-1] == site  # and the page shows what was asked for


@pytest.mark.parametrize("site", ["x" * 61, "Ward\x003", " "])
def test_what_is_no_site_is_left_out(supervisor, site):
    assert len(names(ask(supervisor, site=site))) == 2


# Where it stands


def test_it_stands_in_no_address(supervisor):
    answer = ask(supervisor, site="Ward 3", show="attention")

    assert "ward" not in answer.redirect_chain[-1][0].lower()
    assert len(names(supervisor.get("/board/", {"site": "Ward 9"}))) == 2  # an address asks for none


def test_the_more_to_choose_by_stay_open(supervisor):
    assert [ask(supervisor, **asked).context["more_asked"] for asked in ({"site": "Ward 3"}, {"q": "x"})] == [
        True,
        False,
    ]


def test_it_is_part_of_a_saved_filter(north, supervisor):
    here = supervisor.post("/board/", {"site": "Ward 3"}).url
    answer = supervisor.post(here.replace("/board/", "/board/save/"), {"title": "Mine"}, follow=True)

    assert (names(answer), SavedFilter.objects.get().asked) == (["Okonjo-Lind"], {"site": "Ward 3"})
    place(north.educator, north.family, "Ward 4")
    assert names(supervisor.get("/board/", {"saved": str(SavedFilter.objects.get().public_id)})) == []


def test_files_have_a_column_for_it(supervisor):
    here = supervisor.post("/board/", {"site": "Ward 3"}).url
    head, *rows = csv.reader(
        io.StringIO(supervisor.get(here.replace("/board/", "/board/families.csv")).content.decode("utf-8-sig"))
    )

    assert [(row[0], row[head.index("Site")]) for row in rows] == [("Okonjo-Lind", "Ward 3")]


def test_a_site_is_no_formula(north, supervisor):
    place(north.educator, north.family, "=1+1")
    rows = csv.reader(io.StringIO(supervisor.get("/board/families.csv").content.decode("utf-8-sig")))

    assert "'=1+1" in [cell for row in rows for cell in row]


# Cost


def test_the_same_number_of_questions_at_every_size(north, supervisor):
    counts = []
    for more in (6, 14):
        copies(north, more)
        for n, family in enumerate(north.organisation.families.all()):
            place(north.educator, family, f"Ward {n % 2}")
        counts.append([queries(supervisor), queries(supervisor, supervisor.post("/board/", {"site": "Ward 1"}).url)])

    assert counts[0] == counts[1]


def test_the_rows_of_pages_are_all_rows_in_order(north):
    for n in range(7):
        place(north.educator, make_family(north, f"Family {n % 3}", "Ilse"), ("Ward 3", "WARD 3", "")[n % 3])
    asked = Asked(north.supervisor, TODAY, NOW, {"site": "Ward 3"})
    paged = [span.pk for start in range(0, 12, 2) for span in first_rows(asked, start, start + 2)]

    assert paged == [span.pk for span in asked.found()]
    assert len(paged) == 6
