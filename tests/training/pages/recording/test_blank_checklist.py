"""The blank checklist as it comes from its address, and for every skill that is shipped."""

from __future__ import annotations

import uuid
from datetime import UTC, datetime, timedelta
from io import BytesIO
from pathlib import Path

import page
import pytest
from django.urls import resolve, reverse
from pypdf import PdfReader

from competency.programme import Evidence
from tests import cast as standing_cast
from tests.cast import TODAY
from tests.training.documents.codes import decode, squares
from tests.training.documents.editions import home_with_two_editions
from training.exchange.demo.loading import load, sheets
from training.people.models import Family, Member
from training.records.models import Record
from training.standing.file import open_file

PEOPLE = ("visitor", "stranger", "elsewhere", "auditor", "administrator", "supervisor", "educator")
ANSWERS = (302, 404, 404, 200, 200, 200, 200)
PROGRAMMES = sorted(Path("fixtures/programmes").glob("*.yaml"))
NAMES = ("03", "08", "13")  # long, from the right, and in letters no face has
DEMO_NOW = datetime(2026, 5, 14, 8, tzinfo=UTC)


def url(home, skill="suction", caregiver=None, query=""):
    whole = {"family": home.family.public_id, "caregiver": (caregiver or home.mother).public_id, "skill": skill}
    return reverse("blank-checklist", kwargs=whole) + query


def pdf(answer):
    assert answer.status_code == 200
    return b"".join(answer.streaming_content)


def reader(answer):
    return PdfReader(BytesIO(pdf(answer)))


def words(answer):
    return " ".join(" ".join(sheet.extract_text() for sheet in reader(answer).pages).split())


def enter(client, cast, name):
    people = {"stranger": cast.stranger, "elsewhere": cast.south.educator.user}
    if name != "visitor":
        client.force_login(people[name] if name in people else getattr(cast.north, name).user)
    return client


@pytest.mark.parametrize(("name", "status"), list(zip(PEOPLE, ANSWERS, strict=True)))
def test_who_reads_the_family_prints_it(cast, client, name, status):
    assert enter(client, cast, name).get(url(cast.north)).status_code == status


def test_it_is_a_pdf_that_nobody_keeps(cast, signed_in):
    answer = signed_in(cast.north.educator).get(url(cast.north))

    assert (answer["Content-Type"], answer["Cache-Control"]) == ("application/pdf", "private, no-store")


def test_its_file_name_holds_nobodys_name(cast, signed_in):
    answer = signed_in(cast.north.educator).get(url(cast.north))

    assert answer["Content-Disposition"].startswith('attachment; filename="Checklist suction edition 1 ')


def test_printing_records_nothing(cast, signed_in):
    before = Record.objects.count()
    pdf(signed_in(cast.north.educator).get(url(cast.north)))

    assert Record.objects.count() == before


@pytest.mark.parametrize("method", ["post", "put", "delete"])
def test_it_is_only_read(cast, signed_in, method):
    assert getattr(signed_in(cast.north.educator), method)(url(cast.north)).status_code == 405


def test_the_code_opens_the_form_it_is_typed_into(cast, signed_in):
    client = signed_in(cast.north.educator)
    address = decode(squares(reader(client.get(url(cast.north)))))
    path = address.removeprefix("http://testserver")

    assert resolve(path).url_name == "transcribe"
    assert client.get(path).status_code == 200


def test_the_code_holds_ids_and_codes_only(cast, signed_in):
    north = cast.north
    address = decode(squares(reader(signed_in(north.educator).get(url(north)))))

    assert address == (
        f"http://testserver/families/{north.family.public_id}/people/{north.mother.public_id}"
        "/skills/suction/editions/1/paper/"
    )


def test_the_edition_is_that_of_the_date_asked(cast, signed_in, monkeypatch):
    home = home_with_two_editions(monkeypatch, TODAY + timedelta(days=2))
    client = signed_in(home.educator)
    asked = [words(client.get(url(home, "hands", query=f"?on=2026-05-{day}"))) for day in (15, 16)]

    assert [f"Hand hygiene, edition {n}" in text for n, text in zip((1, 2), asked, strict=True)] == [True, True]
    assert ["Dries them" in text for text in asked] == [False, True]


def test_names_can_be_left_out(cast, signed_in):
    text = words(signed_in(cast.north.educator).get(url(cast.north, query="?names=blank")))

    assert [name for name in ("Okonjo", "Lind", "Marit", "Ilse") if name in text] == []


@pytest.mark.parametrize(("query", "width"), [("", 595), ("?size=letter", 612), ("?size=napkin", 595)])
def test_paper_is_a4_or_letter(cast, signed_in, query, width):
    sheet = reader(signed_in(cast.north.educator).get(url(cast.north, query=query))).pages[0]

    assert round(sheet.mediabox.width) == width


def test_the_same_moment_gives_the_same_bytes(cast, signed_in):
    client = signed_in(cast.north.educator)

    assert pdf(client.get(url(cast.north))) == pdf(client.get(url(cast.north)))


@pytest.mark.parametrize("skill", ["cpr_card", "juggling"])
def test_what_has_no_steps_is_not_printed(cast, signed_in, skill):
    assert signed_in(cast.north.educator).get(url(cast.north, skill)).status_code == 404


@pytest.mark.parametrize("day", ["2024-12-31"])
def test_where_no_edition_is_in_force_there_is_nothing(cast, signed_in, day):
    assert signed_in(cast.north.educator).get(url(cast.north, query=f"?on={day}")).status_code == 404


def test_a_caregiver_of_another_family_is_not_there(cast, signed_in):
    other = cast.north.families[1].caregivers.first()

    assert signed_in(cast.north.educator).get(url(cast.north, caregiver=other)).status_code == 404


@pytest.mark.parametrize("name", ["skill", "start"])
def test_the_pages_lead_to_it(cast, signed_in, name):
    whole = {"family": cast.north.family.public_id, "caregiver": cast.north.mother.public_id, "skill": "suction"}
    text = signed_in(cast.north.educator).get(reverse(name, kwargs=whole)).content.decode()

    assert f'href="{url(cast.north)}">Print a blank checklist</a>' in text


@pytest.mark.parametrize(("role", "leads"), [("educator", True), ("auditor", False), ("administrator", False)])
def test_the_form_is_offered_to_who_may_record(cast, signed_in, role, leads):
    whole = {"family": cast.north.family.public_id, "caregiver": cast.north.mother.public_id, "skill": "suction"}
    text = signed_in(getattr(cast.north, role)).get(reverse("skill", kwargs=whole)).content.decode()

    assert ("Type in a paper checklist" in text) is leads


# Everything that is shipped


def checklists(client, family, caregiver):
    """Each skill's sheet, with the code of its skill."""
    for code, skill in open_file(family).rules.skills.items():
        if skill.evidence is not Evidence.CERTIFICATE and skill.in_force(TODAY):
            address = reverse(
                "blank-checklist",
                kwargs={"family": family.public_id, "caregiver": caregiver.public_id, "skill": code},
            )
            yield code, pdf(client.get(f"{address}?on={TODAY.isoformat()}"))


def troubles(sheets_made):
    for code, data in sheets_made:
        read = PdfReader(BytesIO(data))
        if page.validate_pdf_bytes(data, profile="ua1").failures:
            yield f"{code}: tags"
        if f"/skills/{code}/" not in decode(squares(read)):
            yield f"{code}: code"


@pytest.mark.parametrize("path", PROGRAMMES, ids=lambda path: path.stem)
def test_every_skill_of_a_sample_programme_prints(cast, signed_in, monkeypatch, path):
    """The family has no care plan, so every step of both roles stands on its sheet."""
    monkeypatch.setattr(standing_cast, "PROGRAMME", path.read_text())
    monkeypatch.setattr(standing_cast, "plan", lambda *_: None)
    monkeypatch.setattr(standing_cast, "authorise", lambda *_: None)
    home = standing_cast.make_home(f"House of {uuid.uuid4()}", "hospital", [("Aas-Lome", "Pia")])
    made = list(checklists(signed_in(home.educator), home.family, home.mother))

    assert len(made) > 5
    assert list(troubles(made)) == []


def _print_the_demo(client, wanted, caregivers=None):
    load(DEMO_NOW, [sheet for sheet in sheets() if wanted(sheet.name)], lambda _: None)
    made = []
    for family in Family.objects.exclude(organisation__title__in=standing_cast.TITLES.values()):
        client.force_login(Member.objects.get(organisation=family.organisation, role="auditor").user)
        for caregiver in list(family.caregivers.all())[:caregivers]:
            made += checklists(client, family, caregiver)
    return made


def test_families_with_rare_names_print(cast, client):
    made = _print_the_demo(client, lambda name: name.startswith(NAMES), caregivers=1)

    assert len(made) > 30
    assert list(troubles(made)) == []


@pytest.mark.long
def test_every_family_of_the_demo_prints(cast, client):
    made = _print_the_demo(client, lambda name: True)

    assert len(made) > 300
    assert list(troubles(made)) == []
