"""The agency after accepting: the hospital's record beside its own, a care plan typed in, sign-offs taken over one by one."""

from __future__ import annotations

from datetime import timedelta
from html import unescape

import pytest
from django.urls import reverse

from competency.standing import Standing
from competency.verify import check_export
from tests.cast import NOW, TODAY, authorise, sign_off_suction, write
from tests.training.pages.setup.acts import count, errors, last, of, send
from tests.training.tenancy.site_role import as_site_role, ask_as_nobody, on_postgres
from training.handover.keeping import content_of
from training.handover.models import Offer
from training.people.models import Caregiver, Family
from training.records.models import Record
from training.standing.file import open_file
from training.standing.questions import FamilyOn

DAY = TODAY.isoformat()


@pytest.fixture
def family(north, taken) -> Family:
    sign_off_suction(north, north.mother)
    return taken()


@pytest.fixture
def planned(family, south) -> Family:
    """With the agency's own care plan and authorisation."""
    write(south.educator, family, "care_plan", NOW, on=DAY, time=None, facts={"suction": True, "cuff": "none"})
    authorise(south, family, "suction", TODAY)
    return family


def words(answer):
    return unescape(answer.content.decode())


def mother(family: Family) -> Caregiver:
    return family.caregivers.get(called="Marit")


def take(family, skill="suction"):
    return reverse("handover-take-over", args=[family.public_id, mother(family).public_id, skill])


def checked(client, family, **changes):
    fields = {"skill": "suction", "on": DAY, "checked": "on", "how": "Watched one suction at the bedside"}
    return send(client, take(family), **{**fields, **changes})


def cell(family, day=TODAY):
    return FamilyOn(open_file(family), day).cell(mother(family), "suction")


# The page -------------------------------------------------------------------------------------------------


def test_it_lists_their_sign_offs_with_their_last_days(family, south, signed_in):
    text = words(signed_in(south.educator).get(of(family, "handover")))

    assert "Marit Okonjo-Lind" in text
    assert "4 November 2026" in text  # six months after 4 May
    assert "Not started here." in text


def test_it_says_that_the_file_fits(family, south, signed_in):
    assert "every record fits" in signed_in(south.educator).get(of(family, "handover")).content.decode()


def test_it_lists_what_is_to_be_asked_again(family, south, signed_in):
    text = words(signed_in(south.educator).get(of(family, "handover")))

    assert "To be asked for again" in text
    assert "Suctioning, Tube change." in text


def test_before_the_care_plan_nothing_is_taken_over(family, south, signed_in):
    client = signed_in(south.educator)

    assert "The care plan comes first." in client.get(of(family, "handover")).content.decode()
    assert client.get(take(family)).status_code == 404


def test_a_family_that_came_from_nobody_has_no_such_pages(south, signed_in):
    client = signed_in(south.educator)
    found = [
        client.get(of(south.family, n)).status_code for n in ("handover-records", "handover-care-plan", "handover-file")
    ]

    assert found == [404] * 3


# The care plan --------------------------------------------------------------------------------------------


def test_the_care_plan_is_typed_in_and_not_signed(family, south, signed_in):
    form = signed_in(south.educator).get(of(family, "handover-care-plan")).context["form"]

    assert (form["fact_suction"].value(), form["fact_cuff"].value(), form["fact_tube_id_mm"].value()) == (
        "yes",
        "none",
        "5",
    )
    assert "care_plan" not in [r.kind for r in Record.objects.of_chain(family.public_id)]


def test_it_is_signed_by_the_agency_s_member(family, south, signed_in):
    client = signed_in(south.educator)
    address = of(family, "handover-care-plan")
    form = client.get(address).context["form"]
    fields = {n: form[n].value() or "" for n in form.fields if n not in ("time",)}
    form = send(client, address, **fields).context["form"]
    fields = {n: form[n].value() or "" for n in form.fields if n != "password"}
    answer = send(client, address, **fields, sign="yes")
    made = last(family)

    assert (answer.status_code, made.kind, made.data["signed"]["id"]) == (302, "care_plan", south.educator.observer_id)


def test_once_the_file_has_a_plan_theirs_is_offered_no_more(planned, south, signed_in):
    assert signed_in(south.educator).get(of(planned, "handover-care-plan")).status_code == 404


# One sign-off ---------------------------------------------------------------------------------------------


def test_taken_over_it_holds_through_their_last_day(planned, south, signed_in):
    answer = checked(signed_in(south.educator), planned)
    made = last(planned)

    assert answer.url == of(planned, "handover")
    assert (made.kind, made.data["last_day"], made.data["checked_how"]) == (
        "accepted",
        "2026-11-04",
        "Watched one suction at the bedside",
    )
    assert (cell(planned).standing, cell(planned).last_day.isoformat()) == (Standing.SIGNED_OFF, "2026-11-04")


def test_the_form_offers_the_skill_of_the_same_code(planned, south, signed_in):
    assert signed_in(south.educator).get(take(planned)).context["form"]["skill"].value() == "suction"


@pytest.mark.parametrize(
    ("changes", "fields"),
    [
        ({"checked": None}, ["checked"]),
        ({"how": ""}, ["how"]),
        ({"skill": "card"}, ["skill"]),
        ({"on": "2026-05-13"}, ["on"]),
        ({"on": "2026-05-15"}, ["on"]),
        ({"password": "no"}, ["password"]),
    ],
)
def test_what_is_refused(planned, south, signed_in, changes, fields):
    before = count(planned)
    answer = checked(signed_in(south.educator), planned, **changes)

    assert (list(errors(answer)), count(planned)) == (fields, before)


def test_who_is_not_qualified_takes_nothing_over(planned, south, signed_in):
    Record.objects.of_chain(south.organisation.public_id)
    new = south.administrator
    new.role = "educator"
    new.save(update_fields=["role"])
    answer = checked(signed_in(new), planned)

    assert errors(answer)["skill"] == ["You are not qualified to assess this skill on that day."]


def test_taken_over_once_it_is_not_taken_over_again(planned, south, signed_in):
    client = signed_in(south.educator)
    checked(client, planned)

    assert client.get(take(planned)).status_code == 404
    assert "Taken over" in client.get(of(planned, "handover")).content.decode()


def test_a_voided_one_may_be_taken_over_again(planned, south, signed_in):
    client = signed_in(south.educator)
    checked(client, planned)
    write(south.supervisor, planned, "void", NOW, record=str(last(planned).intent), reason="wrong person")

    assert (cell(planned).standing, client.get(take(planned)).status_code) == (Standing.NOT_STARTED, 200)


def test_what_the_hospital_never_signed_off_is_not_there_to_take(planned, south, signed_in):
    assert signed_in(south.educator).get(take(planned, "tube_change")).status_code == 404


def test_what_happens_in_the_hospital_afterwards_changes_nothing(planned, north, south, signed_in):
    write(north.supervisor, north.family, "withdrawal", NOW, caregiver=north.mother.case_id, skill="suction",
          on=DAY, time=None, reason="x", cover="y")  # fmt: skip

    assert signed_in(south.educator).get(take(planned)).status_code == 200


# Their record ---------------------------------------------------------------------------------------------


def test_their_records_are_listed_in_words(family, north, south, signed_in):
    text = words(signed_in(south.auditor).get(of(family, "handover-records")))

    assert f"The record of {north.organisation.title}, as handed over on 14 May 2026" in text
    assert text.count("Suctioning, Marit Okonjo-Lind") == 2
    assert "It completed the sign-off." in text


def test_one_of_them_says_everything(family, north, south, signed_in):
    number = Record.objects.of_chain(north.family.public_id).filter(kind="demonstration").last().number
    text = words(signed_in(south.educator).get(of(family, "handover-record", number=number)))

    assert north.educator.signed_name in text
    assert "Watches the breathing" in text


@pytest.mark.parametrize("number", [0, 999])
def test_a_number_that_is_not_there_is_not_found(family, south, signed_in, number):
    assert signed_in(south.educator).get(of(family, "handover-record", number=number)).status_code == 404


@on_postgres
def test_the_file_is_whole_for_the_site_s_role_too(family, south, signed_in):
    """What is asked only while the answer is sent would be asked by nobody."""
    with as_site_role():
        answer = signed_in(south.educator).get(of(family, "handover-file"))
        ask_as_nobody()
        content = answer.getvalue()

    assert content == content_of(Offer.objects.get(made=family))
    assert content.count(b"\n") > 3


def test_the_file_is_what_the_checker_reads(family, south, signed_in, tmp_path):
    answer = signed_in(south.educator).get(of(family, "handover-file"))
    (tmp_path / "file").write_bytes(answer.getvalue())
    head = Record.objects.of_chain(family.public_id)[0].data["head"]
    with (tmp_path / "file").open("rb") as file:
        report = check_export(file, head)

    assert report.chains[0].head == head
    assert answer["Content-Disposition"] == 'attachment; filename="record-handed-over-2026-05-14.jsonl"'


@pytest.mark.parametrize("name", ["handover", "handover-records", "handover-file", "handover-care-plan"])
def test_the_hospital_does_not_find_the_agency_s_pages(family, north, signed_in, name):
    assert signed_in(north.supervisor).get(of(family, name)).status_code == 404


def test_the_family_page_says_where_it_came_from(family, north, south, signed_in):
    text = words(signed_in(south.educator).get(of(family, "family")))

    assert f"Taken over from {north.organisation.title}." in text


def test_no_caregiver_s_account_comes_along(north, south, signed_in, taken):
    from training.people.models import User

    user = User.objects.create(username="marit", full_name="Marit")
    Caregiver.objects.filter(pk=north.mother.pk).update(user=user)
    family = taken()
    client = signed_in(user)

    assert client.get(reverse("mine-family", args=[mother(family).public_id])).status_code == 404
    assert (
        "keeps a page of its own" in client.get(reverse("mine-family", args=[north.mother.public_id])).content.decode()
    )


def test_a_last_day_that_is_over_is_not_taken_over(planned, south, signed_in):
    import time_machine

    with time_machine.travel(NOW + timedelta(days=200), tick=False):
        client = signed_in(south.educator)
        text = client.get(of(planned, "handover")).content.decode()

    assert "It has run out: see it shown again." in text
