"""A family's site: as the file's first page names it, tidied; where two spellings are one site and where not."""

from __future__ import annotations

import pytest

from competency.fields import RefusedError
from tests.training.kept import keep, page_body, place
from training.people.models import Family
from training.records.models import Record
from training.standing.models import BoardFamily
from training.standing.projecting import family_differences
from training.standing.rebuilding import rebuild_family
from training.standing.sites import grouped, in_use, on_board, tidy


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("Ward 3", "Ward 3"),
        ("  Ward \t 3\n", "Ward 3"),
        ("Ward\u00a03", "Ward 3"),
        ("A\u030as", "Ås"),  # typed as A and a ring
        ("WARD 3", "WARD 3"),
        (" \u3000", ""),
    ],
)
def test_what_looks_the_same_is_kept_the_same(typed, kept):
    assert tidy(typed) == kept


@pytest.mark.parametrize(
    ("spellings", "sites"),
    [
        (["Ward 3", "ward 3", "WARD 3"], {"WARD 3": ["WARD 3", "Ward 3", "ward 3"]}),
        (["ÅS", "Ås", "As"], {"As": ["As"], "ÅS": ["ÅS", "Ås"]}),  # two towns
        (["Bø", "Bo", "bø"], {"Bo": ["Bo"], "Bø": ["Bø", "bø"]}),
        (["Straße", "STRASSE"], {"STRASSE": ["STRASSE", "Straße"]}),
        (["Ward 10", "Ward 2", "ward 2"], {"Ward 2": ["Ward 2", "ward 2"], "Ward 10": ["Ward 10"]}),
        ([], {}),
    ],
)
def test_case_makes_no_other_site_and_an_accent_does(spellings, sites):
    found = grouped(spellings)

    assert (found, list(found)) == (sites, list(sites))


@pytest.fixture
def north(cast):
    return cast.north


def test_a_first_page_from_before_there_were_sites_names_none(north):
    made = keep(north.educator, north.family, "family", **page_body(north.family))

    assert ("site" in made.data, Family.objects.get(pk=north.family.pk).site) == (False, "")
    assert list(family_differences(north.family.public_id)) == []


def test_the_last_first_page_says_where(north):
    for site in ("Ward 3", "Coast branch"):
        place(north.educator, north.family, site)

    assert Family.objects.get(pk=north.family.pk).site == "Coast branch"
    assert BoardFamily.objects.get(family=north.family).site == "Coast branch"


@pytest.mark.parametrize("site", ["x" * 61, "Ward  3", " Ward 3", "A\u030as", None, 3, ["Ward 3"]])
def test_a_site_that_no_form_would_write_is_refused(north, site):
    before = Record.objects.of_chain(north.family.public_id).count()
    with pytest.raises(RefusedError) as caught:
        keep(north.educator, north.family, "family", **page_body(north.family, site=site))

    assert [p.path for p in caught.value.problems] == ["site"]
    assert Record.objects.of_chain(north.family.public_id).count() == before


def test_a_row_that_was_changed_is_put_back(north):
    place(north.educator, north.family, "Ward 3")
    Family.objects.filter(pk=north.family.pk).update(site="Secret")
    BoardFamily.objects.filter(family=north.family).update(site="Secret")
    said = rebuild_family(north.family.public_id, keep=True)

    assert Family.objects.get(pk=north.family.pk).site == "Ward 3"
    assert BoardFamily.objects.get(family=north.family).site == "Ward 3"
    assert "Secret" not in " ".join(said)


def test_the_house_s_sites_and_nobody_else_s(cast):
    place(cast.north.educator, cast.north.family, "Ward 3")
    place(cast.south.educator, cast.south.family, "Elsewhere")

    assert in_use(cast.north.organisation) == ["Ward 3"]
    assert on_board(BoardFamily.objects.visible_to(cast.north.supervisor)) == {"Ward 3": ["Ward 3"]}
