"""Families and caregivers: opening a file, changing its words, linking an account."""

from __future__ import annotations

import uuid
from datetime import date

import pytest
from django.urls import reverse

from tests.cast import NOW, TODAY
from tests.factories import UserFactory
from tests.training.kept import place
from tests.training.pages.setup.acts import count, errors, last, of, said, send
from training.curriculum.models import Programme
from training.people.models import Caregiver, Family

NAMES = ["Nguyễn Thị Mai", "李小龍", "محمد علي", "Suharto", "O’Neil", "Ng", "x" * 200]


@pytest.fixture
def educator(cast, signed_in):
    return signed_in(cast.north.educator)


# Families


def open_file(client, home, **changes):
    fields = {
        "name": "Tveit-Oduya",
        "patient_name": "Runa Tveit-Oduya",
        "patient_called": "Runa",
        "patient_born": "2024-02-29",
        "time_zone": "Europe/Oslo",
        "programme": str(home.programme.public_id),
        **changes,
    }
    return send(client, reverse("family-new"), **fields)


def test_a_new_file_goes_on_to_its_care_plan(cast, educator):
    answer = open_file(educator, cast.north)
    made = Family.objects.get(name="Tveit-Oduya")

    assert (answer.status_code, answer.url) == (302, of(made, "care-plan-new"))


def test_a_new_file_belongs_to_the_house(cast, educator):
    open_file(educator, cast.north)
    made = Family.objects.get(name="Tveit-Oduya")

    assert (made.organisation, made.enrolment.programme, made.patient_born) == (
        cast.north.organisation,
        cast.north.programme,
        date(2024, 2, 29),
    )


def test_only_the_house_s_programmes_are_offered(cast, educator):
    answer = open_file(educator, cast.north, programme=str(cast.south.programme.public_id))

    assert list(errors(answer)) == ["programme"]
    assert not Family.objects.filter(name="Tveit-Oduya").exists()


def test_the_house_s_zone_is_chosen_already(cast, educator):
    assert educator.get(reverse("family-new")).context["form"]["time_zone"].value() == "Europe/Oslo"


def test_the_same_post_opens_one_file(cast, educator):
    intent = str(uuid.uuid4())
    urls = {open_file(educator, cast.north, intent=intent).url for _ in range(2)}

    assert (len(urls), Family.objects.filter(name="Tveit-Oduya").count()) == (1, 1)


@pytest.mark.parametrize("name", NAMES)
def test_a_patient_s_name_is_kept_as_written(cast, educator, name):
    open_file(educator, cast.north, patient_name=name)

    assert Family.objects.get(name="Tveit-Oduya").patient_name == name


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"name": ""}, "name"),
        ({"patient_name": "x" * 201}, "patient_name"),
        ({"patient_called": ""}, "patient_called"),
        ({"patient_born": "2026-05-15"}, "patient_born"),
        ({"patient_born": "29.02.2024"}, "patient_born"),
        ({"time_zone": "Mars/Olympus"}, "time_zone"),
        ({"programme": ""}, "programme"),
        ({"password": "wrong"}, "password"),
    ],
)
def test_a_file_with_bad_words_is_not_opened(cast, educator, changes, field):
    answer = open_file(educator, cast.north, **changes)

    assert (list(errors(answer)), Family.objects.filter(name="Tveit-Oduya").exists()) == ([field], False)


def test_a_house_without_checklists_says_so(cast, educator):
    Programme.objects.filter(pk=cast.north.programme.pk).update(organisation=cast.south.organisation, code="moved")

    assert "No checklists are published yet." in educator.get(reverse("family-new")).content.decode()


def test_a_house_without_families_can_open_one(cast, signed_in):
    from tests.cast import PROGRAMME, at
    from tests.factories import MemberFactory, OrganisationFactory
    from training.curriculum.programme_file import read_file
    from training.standing import deeds

    house = OrganisationFactory(time_zone="Pacific/Auckland")
    deeds.publish_programme(organisation=house, file=read_file(PROGRAMME), at=at(date(2024, 12, 1)))
    answer = signed_in(MemberFactory(organisation=house)).get(reverse("family-new"))

    assert answer.context["form"]["time_zone"].value() == "Pacific/Auckland"


def test_the_first_page_is_changed(cast, educator):
    fields = {
        "name": "Lind",
        "patient_name": "Ilse Lind",
        "patient_called": "Ilse",
        "patient_born": "",
        "time_zone": "America/New_York",
    }
    send(educator, of(cast.north.family, "family-edit"), **fields)
    family = Family.objects.get(pk=cast.north.family.pk)

    assert (family.name, family.patient_born, family.time_zone) == ("Lind", None, "America/New_York")


def test_the_first_page_is_filled_in(cast, educator):
    form = educator.get(of(cast.north.family, "family-edit")).context["form"]

    assert (form["patient_name"].value(), form["patient_born"].value()) == ("Ilse Okonjo-Lind", date(2023, 2, 1))


# The site


def test_a_new_file_names_its_site(cast, educator):
    open_file(educator, cast.north, site="  Ward\u00a0 3 ")
    made = Family.objects.get(name="Tveit-Oduya")

    assert (made.site, last(made).data["site"]) == ("Ward 3", "Ward 3")


def test_a_site_may_be_left_out(cast, educator):
    open_file(educator, cast.north)

    assert Family.objects.get(name="Tveit-Oduya").site == ""


@pytest.mark.parametrize(("site", "complaints"), [("x" * 60, []), ("x" * 61, ["site"]), (f"x{' ' * 70}y", [])])
def test_a_site_is_short(cast, educator, site, complaints):
    answer = open_file(educator, cast.north, site=site)

    assert list(errors(answer) if answer.status_code == 200 else []) == complaints


def test_a_site_is_changed_and_taken_off(cast, educator):
    family = cast.north.family
    page = {
        "name": family.name, "patient_name": family.patient_name, "patient_called": "Ilse", "patient_born": "2023-02-01",
        "time_zone": "Europe/Oslo",
    }  # fmt: skip
    seen = []
    for site in ("Ward 3", "Coast branch", ""):
        send(educator, of(family, "family-edit"), **page, site=site)
        form = educator.get(of(family, "family-edit")).context["form"]
        seen.append((Family.objects.get(pk=family.pk).site, form["site"].value()))

    assert seen == [("Ward 3", "Ward 3"), ("Coast branch", "Coast branch"), ("", "")]


@pytest.mark.parametrize("address", ["new", "edit"])
def test_the_sites_of_the_whole_house_are_offered_and_nobody_else_s(cast, educator, address):
    for home, site in ((cast.north, "Ward 10"), (cast.south, "Elsewhere")):
        place(home.educator, home.family, site)
    place(cast.north.educator, cast.north.families[1], "Ward 2<")
    cast.north.organisation.assigned_only = True
    cast.north.organisation.save()
    cast.north.families[1].assignments.update(until=NOW)
    page = educator.get(of(cast.north.family, "family-edit") if address == "edit" else reverse("family-new"))
    text = page.content.decode()

    assert page.context["form"].sites_in_use == ["Ward 2<", "Ward 10"]
    assert 'list="sites-in-use"' in text
    assert '<datalist id="sites-in-use"><option value="Ward 2&lt;"></option><option value="Ward 10">' in text
    assert "Elsewhere" not in text


def test_where_no_site_is_in_use_there_is_no_list(educator):
    assert "sites-in-use" not in educator.get(reverse("family-new")).content.decode()


# Caregivers


def enter(client, home, address=None, **changes):
    fields = {
        "full_name": "Aase Lind",
        "called": "Aase",
        "relation": "grandmother",
        "born": "1958-11-30",
        "from_day": "",
        "through": "",
        "sets": ["daytime"],
        **changes,
    }
    return send(client, address or of(home.family, "caregiver-new"), **fields)


def aase(home):
    return home.family.caregivers.get(called="Aase")


def test_a_caregiver_is_entered(cast, educator):
    answer = enter(educator, cast.north)

    assert (aase(cast.north).full_name, aase(cast.north).sets) == ("Aase Lind", ["daytime"])
    assert said(answer) == "Aase Lind is entered."


@pytest.mark.parametrize("name", NAMES)
def test_a_caregiver_s_name_is_kept_as_written(cast, educator, name):
    enter(educator, cast.north, full_name=name)

    assert aase(cast.north).full_name == name


def test_the_same_post_enters_one_caregiver(cast, educator):
    intent = str(uuid.uuid4())
    for _ in range(2):
        enter(educator, cast.north, intent=intent)

    assert cast.north.family.caregivers.filter(called="Aase").count() == 1


def test_sets_are_offered_in_words(cast, educator):
    form = educator.get(of(cast.north.family, "caregiver-new")).context["form"]

    assert form.fields["sets"].choices == [
        ("full", "Full care: everything"),
        ("daytime", "Daytime care: staying for a while"),
    ]


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"full_name": ""}, "full_name"),
        ({"called": "x" * 81}, "called"),
        ({"relation": ""}, "relation"),
        ({"born": "2026-05-15"}, "born"),
        ({"from_day": "2026-05-14", "through": "2026-05-13"}, "through"),
        ({"sets": ["night"]}, "sets"),
        ({"password": "wrong"}, "password"),
    ],
)
def test_bad_words_about_a_caregiver_stand_at_their_field(cast, educator, changes, field):
    before = count(cast.north.family)
    answer = enter(educator, cast.north, **changes)

    assert (list(errors(answer)), count(cast.north.family)) == ([field], before)


def test_there_is_one_patient(cast, educator):
    enter(educator, cast.north, is_patient="on")
    answer = enter(educator, cast.north, called="Ilse", is_patient="on")

    assert errors(answer) == {"is_patient": ["Aase Lind is the patient of this file already."]}


def test_a_change_keeps_the_person(cast, educator):
    mother = cast.north.mother
    address = of(cast.north.family, "caregiver-edit", caregiver=mother.public_id)
    enter(educator, cast.north, address, called="Marit", through="2026-06-30", sets=["full"])
    changed = Caregiver.objects.get(pk=mother.pk)

    assert (changed.full_name, changed.through, cast.north.family.caregivers.count()) == (
        "Aase Lind",
        date(2026, 6, 30),
        2,
    )


def test_a_change_is_filled_in(cast, educator):
    address = of(cast.north.family, "caregiver-edit", caregiver=cast.north.mother.public_id)
    form = educator.get(address).context["form"]

    assert (form["full_name"].value(), form["sets"].value()) == ("Marit Okonjo-Lind", ["full"])


# The account


def test_the_form_opens_no_account_and_changes_none(cast, educator):
    """An account comes with an invitation, by the person's own hand; a form of staff's neither gives nor takes one."""
    mother = cast.north.mother
    Caregiver.objects.filter(pk=mother.pk).update(user=UserFactory(username="marit"))
    UserFactory(username="aase")
    enter(educator, cast.north, of(cast.north.family, "caregiver-edit", caregiver=mother.public_id), account="aase")

    assert Caregiver.objects.get(pk=mother.pk).user.username == "marit"
    assert "account" not in last(cast.north.family).data


def test_the_page_says_today_where_the_patient_is(cast, educator):
    text = educator.get(of(cast.north.family, "caregiver-new")).content.decode()

    assert f"{TODAY.day} May 2026 where Ilse is" in text
