"""A family's page: the verdict and why, what comes, the grid, the bands, the gates, the last entries."""

from __future__ import annotations

import re
import uuid
from datetime import timedelta
from decimal import Decimal

import pytest

from tests.cast import NOW, TODAY, make_family, plan
from tests.training.kept import place
from tests.training.pages.family.conftest import of
from training.standing import deeds


def squeezed(text):
    return " ".join(re.sub(r"<[^>]+>", " ", text).split())


@pytest.fixture
def page(story, read):
    """The page's words for a role and a date."""

    def get(role="educator", on="", whole=False):
        text = read(getattr(story.north, role), of(story.north.family, "family") + on)
        return text if whole else squeezed(text)

    return get


def test_the_verdict_says_who_decides(page):
    assert "Not ready on this date, by the programme’s rules." in page()
    assert "The clinical team decides discharge." in page()


def test_the_verdict_counts_what_is_missing(page):
    assert "3 things are missing, 1 covered by an exception." in page()


def test_an_exception_is_printed_with_the_verdict(page, story):
    name = story.north.supervisor.signed_name

    assert f"Exception for “Papers” by {name}, supervisor, through 19 May 2026: Sent by post" in page()


def test_the_head_names_the_site(page, story):
    assert "Site:" not in page()
    place(story.north.educator, story.north.family, "Ward 3")

    assert "Site: Ward 3." in page()


def test_what_is_missing_names_who_lacks_what(page):
    assert "Marit, for Full care: Hand hygiene, Tube change, Emergency response, CPR card." in page()


def test_an_item_leads_to_its_entry(page):
    assert "item-new/?item=kit" in page(whole=True)


def test_only_who_decides_is_offered_an_exception(page):
    assert "exception-new/?missing=item%3Akit" in page("supervisor", whole=True)
    assert "exception-new" not in page("educator", whole=True)


def test_an_auditor_is_offered_no_deed(page):
    assert not re.search(r"-new/|/edit/|/start/", page("auditor", whole=True))


def test_a_row_leads_to_the_start_at_one_touch(page, story):
    where = of(story.north.family, "start", caregiver=story.north.mother.public_id, skill="suction")

    assert f'href="{where}">Record<' in page(whole=True)


def test_a_fact_that_is_not_stated_is_flagged_in_words(story, read):
    north = story.north
    plan(north, north.family, TODAY - timedelta(days=1), {"suction": True, "tube_id_mm": 5})

    assert "Cuff not stated" in squeezed(read(north.educator, of(north.family, "family")))


def test_a_fact_that_changed_says_when(story, read):
    north = story.north
    plan(
        north, north.family, TODAY - timedelta(days=1), {"suction": True, "cuff": "none", "tube_id_mm": Decimal("5.5")}
    )

    assert "5.5 mm changed 13 May" in squeezed(read(north.educator, of(north.family, "family")))


def test_a_sign_off_says_through_when(page):
    assert "Suctioning, Marit: Signed off through 4 Nov 2026" in page()


def test_a_cell_says_why_not(page):
    assert "11 May 2026: critical, step 3, “Suctions no longer than the limit”." in page()


def test_who_may_practise_is_said(page):
    assert "Joram may practise on Ilse, with a clinician beside them: Hand hygiene , Suctioning" in page()


def test_a_card_is_nothing_to_practise(page):
    assert "Emergency response , CPR card" not in page()


def test_gates_say_what_they_wait_for(page):
    assert "Tube change waits for Suctioning, Hand hygiene." in page()
    assert "Signing off Hand hygiene opens Tube change." in page()


def test_the_bands_have_their_words_in_a_label_and_a_table(page):
    said = "Suctioning, Marit: not started from 2 March 2026 through 1 May 2026"

    assert f'aria-label="{said}' in page(whole=True)
    assert "The same as a table: Marit" in page()


def test_a_voided_record_is_marked(page):
    assert re.search(r"VOIDED Hand hygiene, Joram Okonjo-Lind \d+ May 2026: Wrong person", page())


def test_an_entry_says_what_followed(page):
    assert "Passed. Counts. It completed the sign-off." in page()


def test_each_cell_leads_to_its_skill(page, story):
    address = of(story.north.family, "skill", caregiver=story.north.mother.public_id, skill="tube_change")

    assert f'href="{address}"' in page(whole=True)


def test_a_past_date_is_answered_for(page):
    assert "Suctioning, Marit: In training" in page(on="?on=2026-05-03")


def test_a_date_ahead_shows_the_lapse(page):
    assert "Suctioning, Marit: Lapsed" in page(on="?on=2026-11-05")


def test_links_keep_the_date(page, story):
    assert "/skills/suction/?on=2026-05-03" in page(on="?on=2026-05-03", whole=True)


@pytest.mark.parametrize("on", ["0001-01-01", "9999-12-31", "2026-02-30", "yesterday", ""])
def test_any_date_is_answered(page, on):
    assert "Okonjo-Lind family" in page(on=f"?on={on}")


def test_before_the_care_plan_there_is_no_verdict(page):
    text = page(on="?on=2026-03-01")

    assert "No verdict" in text
    assert "no care plan yet" in text


def test_nothing_asked_is_said(story, read):
    north = story.north
    deeds.write_caregiver(
        family=north.family,
        full_name="Grace Okonjo",
        called="Grace",
        relation="grandmother",
        born=None,
        is_patient=False,
        from_day=None,
        through=None,
        sets=["daytime"],
        by=north.educator,
        intent=uuid.uuid4(),
        at=NOW,
    )

    assert "Tube change, Grace: not asked" in squeezed(read(north.educator, of(north.family, "family")))


def test_a_row_nobody_needs_is_quiet(story, read):
    north = story.north
    plan(north, north.family, TODAY, {"suction": False, "cuff": "none", "tube_id_mm": 5})
    text = squeezed(read(north.educator, of(north.family, "family")))

    assert "Not required Not required: the care plan says so (Suction prescribed)." in text


@pytest.mark.parametrize(
    ("name", "shown"),
    [
        ("<b>Bo</b> & Söhne", "&lt;b&gt;Bo&lt;/b&gt; &amp; Söhne"),
        ("阮 Nguyễn", "阮 Nguyễn"),
        ("محمد علي", "محمد علي"),
        ("N" * 190, "N" * 190),  # with the patient's own name before it, 195 of the 200 letters there is room for
    ],
)
def test_any_name_is_shown_as_typed(cast, read, name, shown):
    family = make_family(cast.north, name, "Noor"[:4])

    assert f"<bdi>{shown}</bdi> family" in read(cast.north.educator, of(family, "family"))


def test_a_fresh_file_says_what_starts_it(cast, read):
    family = deeds.open_family(
        programme=cast.north.programme,
        name="Fresh",
        patient_name="New Fresh",
        patient_called="New",
        patient_born=None,
        time_zone="Europe/Oslo",
        by=cast.north.educator,
        intent=uuid.uuid4(),
        at=NOW,
    )
    text = squeezed(read(cast.north.educator, of(family, "family")))

    assert "Enter the care plan" in text
    assert "No caregivers yet." in text
