"""Members: a place, its end, and what each may assess."""

from __future__ import annotations

import uuid
from datetime import date, timedelta

import pytest
from django.urls import reverse

from tests.cast import TODAY, show
from tests.factories import PASSWORD
from tests.training.pages.setup.acts import errors, said, send
from training.log.models import Entry
from training.people.models import Member, User
from training.records.models import Record
from training.standing.file import open_file
from training.standing.questions import FamilyOn


@pytest.fixture
def administrator(cast, signed_in):
    return signed_in(cast.north.administrator)


def add(client, **changes):
    fields = {
        "full_name": "Zoë Nguyễn",
        "username": "zoe@example.org",
        "role": "educator",
        "credential": "RN",
        "from_day": "2026-05-14",
        "password1": "six grey geese walking",
        "password2": "six grey geese walking",
        "password": None,
        **changes,
    }
    return send(client, reverse("member-new"), **fields)


def test_a_member_has_a_place(cast, administrator):
    answer = add(administrator)
    made = Member.objects.get(user__username="zoe@example.org")

    assert (made.organisation, made.role, made.from_day) == (cast.north.organisation, "educator", TODAY)
    assert said(answer) == "Zoë Nguyễn, RN has a place here from 14 May 2026."


def test_a_member_signs_in_with_the_first_password(cast, administrator):
    add(administrator)

    assert User.objects.get(username="zoe@example.org").check_password("six grey geese walking")


def test_the_same_post_adds_one_member(cast, administrator):
    intent = str(uuid.uuid4())
    answers = [add(administrator, intent=intent) for _ in range(2)]

    assert [a.status_code for a in answers] == [302, 302]
    assert Member.objects.filter(user__username="zoe@example.org").count() == 1


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"full_name": ""}, "full_name"),
        ({"username": ""}, "username"),
        ({"role": ""}, "role"),
        ({"role": "owner"}, "role"),
        ({"credential": "x" * 31}, "credential"),
        ({"from_day": "soon"}, "from_day"),
        ({"password2": "another one altogether"}, "password2"),
        ({"password1": "short", "password2": "short"}, "password1"),
        ({"password1": "1234567890", "password2": "1234567890"}, "password1"),
        ({"password1": "zoe@example.org", "password2": "zoe@example.org"}, "password1"),
    ],
)
def test_bad_input_stands_at_its_field(cast, administrator, changes, field):
    before = User.objects.count()
    answer = add(administrator, **changes)

    assert (list(errors(answer)), User.objects.count()) == ([field], before)


def test_a_user_name_is_taken_in_any_case(cast, administrator):
    name = cast.south.educator.user.username.upper()

    assert errors(add(administrator, username=name)) == {"username": ["This name cannot be used here. Choose another."]}


def test_passwords_never_come_back(cast, administrator):
    assert "six grey geese" not in add(administrator, full_name="").content.decode()


# Changes


def change(client, member, **changes):
    fields = {"role": member.role, "credential": member.credential, "through": "", "password": None, **changes}
    return send(client, reverse("member-edit", args=[member.public_id]), **fields)


def test_a_place_ends(cast, administrator):
    change(administrator, cast.north.educator, through="2026-05-31")

    assert Member.objects.get(pk=cast.north.educator.pk).through == date(2026, 5, 31)


@pytest.mark.parametrize(("through", "status"), [("2026-05-14", 200), ("2026-05-13", 404)])
def test_after_the_last_day_there_is_no_place(cast, administrator, signed_in, through, status):
    change(administrator, cast.north.educator, through=through)

    assert signed_in(cast.north.educator).get(reverse("members")).status_code == status


def test_a_last_day_before_the_first_is_refused(cast, administrator):
    assert errors(change(administrator, cast.north.educator, through="2024-12-31")) == {
        "through": ["This day is before the first one, 1 January 2025."]
    }


@pytest.mark.parametrize(("changes", "field"), [({"role": "educator"}, "role"), ({"through": "2026-05-14"}, "through")])
def test_nobody_takes_their_own_place_away(cast, administrator, changes, field):
    answer = change(administrator, cast.north.administrator, **changes)

    assert list(errors(answer)) == [field]


def test_an_administrator_changes_their_own_credential(cast, administrator):
    change(administrator, cast.north.administrator, credential="MSN")

    assert Member.objects.get(pk=cast.north.administrator.pk).credential == "MSN"


# The list


def test_the_list_holds_only_the_house_s_own(cast, administrator):
    text = administrator.get(reverse("members")).content.decode()

    assert cast.north.educator.user.full_name in text
    assert f">{cast.south.educator.user.username}<" not in text


def test_who_has_left_stands_apart(cast, administrator):
    Member.objects.filter(pk=cast.north.auditor.pk).update(through=TODAY - timedelta(days=1))
    page = administrator.get(reverse("members")).context

    assert [row["member"] for row in page["past"]] == [cast.north.auditor]


def test_what_each_may_assess_is_said(cast, administrator):
    page = administrator.get(reverse("members")).context
    stated = {row["member"].role: [s.title for s in row["statements"]] for row in page["rows"]}

    assert (stated["educator"], stated["auditor"]) == (["Every skill"], [])


def test_an_educator_sees_no_buttons(cast, signed_in):
    text = signed_in(cast.north.educator).get(reverse("members")).content.decode()

    assert reverse("member-new") not in text


# What somebody may assess


def qualify(client, member, **changes):
    fields = {"skills": "hands", "from_day": "2026-05-01", "through": "", **changes}
    return send(client, reverse("qualify", args=[member.public_id]), **fields)


def test_a_statement_is_a_signed_record(cast, administrator):
    qualify(administrator, cast.north.auditor)
    made = Record.objects.of_chain(cast.north.organisation.public_id).last()

    assert (made.kind, made.data["skill"], made.data["observer"]) == (
        "qualification",
        "hands",
        cast.north.auditor.observer_id,
    )


def test_a_statement_says_what_it_is(cast, administrator):
    answer = qualify(administrator, cast.north.auditor, skills="*")

    assert said(answer).endswith("RN may assess from 1 May 2026: Every skill.")


def test_a_supervisor_may_state_it(cast, signed_in):
    assert qualify(signed_in(cast.north.supervisor), cast.north.educator).status_code == 302


def test_a_late_statement_makes_an_old_attempt_count(cast, administrator):
    home = cast.north
    made = show(home, home.mother, "hands", TODAY - timedelta(days=2), observers=[home.auditor.observer_id])
    before = FamilyOn(open_file(home.family), TODAY).judged(made).counts
    qualify(administrator, home.auditor)
    after = FamilyOn(open_file(home.family), TODAY).judged(made).counts

    assert (before, after) == (False, True)


def test_the_same_statement_twice_is_one(cast, administrator):
    intent = str(uuid.uuid4())
    for _ in range(2):
        qualify(administrator, cast.north.auditor, intent=intent)

    assert Record.objects.filter(intent=intent).count() == 1


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"skills": "nothing"}, "skills"),
        ({"through": "2026-04-30"}, "through"),
        ({"from_day": ""}, "from_day"),
        ({"password": "wrong"}, "password"),
    ],
)
def test_a_bad_statement_stands_at_its_field(cast, administrator, changes, field):
    assert list(errors(qualify(administrator, cast.north.auditor, **changes))) == [field]


def test_nothing_is_signed_with_another_s_password(cast, administrator):
    cast.north.administrator.user.set_password("an entirely new one")
    cast.north.administrator.user.save()
    administrator.force_login(cast.north.administrator.user)

    assert list(errors(qualify(administrator, cast.north.auditor, password=PASSWORD))) == ["password"]


# The log


def test_a_new_place_is_in_the_log(cast, administrator):
    add(administrator)
    entry = Entry.objects.get(what="member-added")

    assert entry.words == {"member": "Zoë Nguyễn, RN", "role": "educator"}
    assert entry.who_name == cast.north.administrator.signed_name


def test_a_changed_place_is_in_the_log_with_what_it_was(cast, administrator):
    other = cast.north.educator
    administrator.post(
        reverse("member-edit", args=[other.public_id]),
        {"intent": str(uuid.uuid4()), "role": "supervisor", "credential": "RN", "through": "2026-12-31"},
    )
    entry = Entry.objects.get(what="member-changed")

    assert entry.words["change"] == "role educator → supervisor, through – → 2026-12-31"
