"""A closed file is on no board and asks nothing; opened again it is as before. Papers from outside count for nothing."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse

from competency.fields import RefusedError
from tests.cast import NOW, TODAY, show, sign_off_suction, write
from tests.training.kept import appointment_body, keep
from tests.training.pages.setup.acts import count, errors, last, of, send
from training.people.models import Caregiver, Family, User
from training.people.reminding import is_watched, may_remind
from training.standing.models import CachedStanding
from training.standing.projecting import family_differences

DAY = TODAY.isoformat()
WHYS = ("gone_home", "moved", "recovered", "died")


def close(home, why="gone_home", on=TODAY, family=None):
    family = family or home.family
    write(home.supervisor, family, "closing", NOW, why=why, on=on.isoformat(), note="")
    return Family.objects.get(pk=family.pk)


def names(answer):
    return [row.family.name for key in ("attention", "falling", "calm") for row in answer.context[key]]


# Closing --------------------------------------------------------------------------------------------------


def test_closing_is_a_signed_record(north, signed_in):
    answer = send(signed_in(north.educator), of(north.family, "closing-new"), why="moved", on=DAY, note="To the coast")
    family = Family.objects.get(pk=north.family.pk)

    assert (answer.status_code, last(family).kind) == (302, "closing")
    assert (family.closed_on, family.closed_why) == (TODAY, "moved")


@pytest.mark.parametrize(
    ("fields", "wrong"),
    [
        ({"why": ""}, ["why"]),
        ({"why": "bored"}, ["why"]),
        ({"on": "2026-05-15"}, ["on"]),
        ({"password": "no"}, ["password"]),
    ],
)
def test_what_is_refused(north, signed_in, fields, wrong):
    before = count(north.family)
    answer = send(signed_in(north.educator), of(north.family, "closing-new"), **{"why": "died", "on": DAY, **fields})

    assert (list(errors(answer)), count(north.family)) == (wrong, before)


def test_a_closed_file_is_not_closed_again(north):
    close(north)
    with pytest.raises(RefusedError, match="closed already"):
        close(north)


def test_a_closing_is_never_voided(north):
    close(north)
    with pytest.raises(RefusedError, match="never voided"):
        write(north.supervisor, north.family, "void", NOW, record=str(last(north.family).intent), reason="x")


@pytest.mark.parametrize(("after", "closed"), [(-1, False), (0, True), (1, True)])
def test_the_day_of_the_closing_is_the_first(north, after, closed):
    family = close(north)

    assert is_watched(family, TODAY + timedelta(days=after)) is not closed


@pytest.mark.parametrize("why", WHYS)
def test_nothing_is_shown_by_itself_from_that_day(north, why):
    assert may_remind(Family.objects.get(pk=north.family.pk), NOW)
    assert not may_remind(close(north, why), NOW)


# Boards ---------------------------------------------------------------------------------------------------


def test_the_board_leaves_it_out(north, signed_in):
    sign_off_suction(north, north.mother)
    close(north)
    answer = signed_in(north.supervisor).get(reverse("board"))

    assert names(answer) == ["Quist"]
    assert answer.context["lapse_count"] == 0
    assert CachedStanding.objects.filter(family=north.family, standing="lapsed").exists()  # there was one to leave out


def test_the_board_of_the_day_before_still_has_it(north, signed_in):
    close(north)
    answer = signed_in(north.supervisor).get(reverse("board"), {"on": TODAY - timedelta(days=1)})

    assert set(names(answer)) == {"Okonjo-Lind", "Quist"}


@pytest.mark.parametrize("why", WHYS)
def test_closed_files_too(north, signed_in, why):
    close(north, why)
    answer = signed_in(north.supervisor).get(reverse("board"), {"show": "closed"})
    text = answer.content.decode()
    row = next(r for r in answer.context["calm"] if r.family == north.family)

    assert (row.needs_attention, row.lapses, row.missing) == (False, [], [])
    assert "Closed on 14 May 2026" in text


@pytest.mark.parametrize("asked", ["attention", "not_ready", "ready", "falls"])
def test_no_other_filter_brings_it_back(north, signed_in, asked):
    close(north)

    assert "Okonjo-Lind" not in names(signed_in(north.supervisor).get(reverse("board"), {"show": asked}))


def test_my_families_leave_it_out_and_bring_it_back_when_asked(north, signed_in):
    close(north)
    client = signed_in(north.educator)
    first, asked = client.get(reverse("families")), client.get(reverse("families"), {"closed": "yes"})

    assert [row.family.name for row in first.context["rows"]] == ["Quist"]
    assert "Show 1 closed file too" in first.content.decode()
    assert len(asked.context["rows"]) == 2


def test_where_every_file_is_closed_the_list_says_so(north, signed_in):
    for family in north.families:
        close(north, family=family)

    assert "No family is open now." in signed_in(north.educator).get(reverse("families")).content.decode()


# The family's pages ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("why", WHYS)
def test_the_family_page_says_closed_and_no_verdict(north, signed_in, why):
    close(north, why)
    text = signed_in(north.educator).get(of(north.family, "family")).content.decode()

    assert "This file is closed" in text
    assert [w for w in ("Not ready", "No verdict", "is missing", "lapses", "Overdue") if w in text] == []


def test_after_a_death_it_says_so_quietly(north, signed_in):
    close(north, "died")

    assert (
        "Ilse died. The file was closed on 14 May 2026."
        in signed_in(north.educator).get(of(north.family, "family")).content.decode()
    )


def test_the_day_before_is_still_there_to_read(north, signed_in):
    close(north)
    answer = signed_in(north.educator).get(of(north.family, "family"), {"on": TODAY - timedelta(days=1)})

    assert "Not ready" in answer.content.decode()


@pytest.mark.parametrize("name", ["packet", "skill"])
def test_no_packet_and_no_standing_of_a_closed_file(north, signed_in, name):
    close(north, "died")
    more = {"caregiver": north.mother.public_id, "skill": "suction"} if name == "skill" else {}
    answer = signed_in(north.educator).get(of(north.family, name, **more))

    assert (answer.status_code, answer.url) == (302, of(north.family, "family"))


def test_a_device_takes_no_pack_of_it_along(north, signed_in):
    client = signed_in(north.educator)
    pack = of(north.family, "bedside-pack")
    before = pack in client.get(of(north.family, "family")).content.decode()
    close(north)

    assert (before, pack in client.get(of(north.family, "family")).content.decode()) == (True, False)


def test_it_is_not_offered(north, signed_in, code):
    close(north)
    answer = send(signed_in(north.supervisor), of(north.family, "offer-new"), code=code, reason="x")
    form = answer.context["form"]
    fields = {n: form[n].value() or "" for n in form.fields if n != "password"}
    answer = send(signed_in(north.supervisor), of(north.family, "offer-new"), **fields, sign="yes")

    assert errors(answer)["code"] == ["Cannot have a family whose file is closed."]


# The caregiver --------------------------------------------------------------------------------------------


@pytest.fixture
def marit(north) -> User:
    user = User.objects.create(username="marit", full_name="Marit")
    Caregiver.objects.filter(pk=north.mother.pk).update(user=user)
    return user


@pytest.mark.parametrize("why", WHYS)
def test_the_caregiver_s_page_asks_nothing(north, signed_in, marit, why):
    keep(north.educator, north.family, "appointment", **appointment_body(north.mother))
    close(north, why)
    text = signed_in(marit).get(reverse("mine-family", args=[north.mother.public_id])).content.decode()

    assert [w for w in ("Next", "Not alone yet", "Ready alone", "practise", "Suctioning", "run out") if w in text] == []
    assert ("died" in text, "call for help" in text) == (False, why != "died")


def test_a_yes_that_was_waiting_is_not_asked_for_any_more(north, signed_in, marit):
    from tests.cast import demonstration

    sign_off_suction(north, north.mother)
    body = demonstration(north.mother, "emergency", TODAY, north.educator)
    write(north.educator, north.family, "demonstration", NOW + timedelta(hours=1), **body)
    address = reverse("mine-sign", args=[north.mother.public_id, "emergency"])
    before = signed_in(marit).get(address).status_code
    close(north)

    assert (before, signed_in(marit).get(address).status_code) == (200, 404)


def test_what_is_written_about_them_stays_to_read(north, signed_in, marit):
    show(north, north.mother, "hands", TODAY)
    close(north)

    assert signed_in(marit).get(reverse("mine-records", args=[north.mother.public_id])).status_code == 200


# Opened again ---------------------------------------------------------------------------------------------


def test_opened_again_everything_is_as_before(north, signed_in):
    client = signed_in(north.supervisor)
    before = client.get(reverse("board")).context["attention_count"]
    close(north, "died")
    answer = send(client, of(north.family, "reopening-new"), on=DAY, reason="The wrong family")
    family = Family.objects.get(pk=north.family.pk)

    assert (answer.status_code, family.closed_on, family.closed_why) == (302, None, "")
    assert client.get(reverse("board")).context["attention_count"] == before
    assert list(family_differences(family.public_id)) == []


def test_what_is_open_is_not_opened(north, signed_in):
    before = count(north.family)
    send(signed_in(north.supervisor), of(north.family, "reopening-new"), on=DAY, reason="x")

    assert count(north.family) == before


# Who may --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("page", "statuses"),
    [
        ("closing-new", (200, 200, 200, 403)),
        ("reopening-new", (403, 200, 403, 403)),
        ("outside-evidence-new", (200, 200, 200, 403)),
        ("offer-new", (403, 200, 403, 403)),
        ("handover", (200, 200, 200, 200)),
    ],
)
@pytest.mark.parametrize("role", ["educator", "supervisor", "administrator", "auditor"])
def test_who_is_let_in(north, south, signed_in, page, statuses, role):
    answer = signed_in(getattr(north, role)).get(of(north.family, page))
    stranger = signed_in(getattr(south, role)).get(of(north.family, page))

    assert answer.status_code == statuses[["educator", "supervisor", "administrator", "auditor"].index(role)]
    assert stranger.status_code == 404


# Papers from outside --------------------------------------------------------------------------------------


def paper(client, family, **changes):
    fields = {"evidence": "Tube change shown twice", "says": "Another hospital", "on": "2026-01-05", "caregiver": ""}
    return send(client, of(family, "outside-evidence-new"), **{**fields, **changes})


def test_a_paper_is_listed_as_unverified_and_moves_nothing(north, signed_in):
    client = signed_in(north.educator)
    before = list(CachedStanding.objects.filter(family=north.family).values_list("skill", "standing", "start"))
    paper(client, north.family, caregiver=north.mother.case_id)
    text = client.get(of(north.family, "family")).content.decode()

    assert "Tube change shown twice" in text
    assert "Unverified: each counts for nothing until observed" in text
    assert list(CachedStanding.objects.filter(family=north.family).values_list("skill", "standing", "start")) == before


@pytest.mark.parametrize("field", ["evidence", "says", "on"])
def test_a_paper_needs_words_and_a_day(north, signed_in, field):
    answer = paper(signed_in(north.educator), north.family, **{field: ""})

    assert list(errors(answer)) == [field]


def test_a_voided_paper_is_listed_no_more(north, signed_in):
    client = signed_in(north.educator)
    paper(client, north.family)
    write(north.educator, north.family, "void", NOW, record=str(last(north.family).intent), reason="wrong family")
    text = client.get(of(north.family, "family")).content.decode()

    assert "Unverified: each counts" not in text


def test_a_draft_of_a_closed_file_is_shown_only_when_closed_files_are(north, signed_in):
    from training.standing.models import Draft

    Draft.objects.create(author=north.educator, caregiver=north.mother, data={}, started_at=NOW, changed_at=NOW)
    client = signed_in(north.educator)
    found = [len(client.get(reverse("families")).context["drafts"])]
    close(north)
    found += [len(client.get(reverse("families"), asked).context["drafts"]) for asked in ({}, {"closed": "yes"})]

    assert found == [1, 0, 1]


def test_a_board_between_hand_over_and_closing_says_handed_over(north, signed_in, taken):
    taken()
    Family.objects.filter(pk=north.family.pk).update(closed_on=TODAY + timedelta(days=3), closed_why="moved")
    text = signed_in(north.supervisor).get(reverse("board"), {"on": TODAY + timedelta(days=1)}).content.decode()

    assert ("Handed over to" in text, "Closed on" in text) == (True, False)
