"""At signing: the code beside the password, wrong ones counted, a used one refused, nothing typed lost."""

from __future__ import annotations

import pytest
from django.urls import reverse

from tests.factories import PASSWORD
from tests.training.pages.entry.conftest import code_at, enrol, with_password
from tests.training.pages.recording.conftest import bedside  # noqa: F401  the same fixture
from tests.training.pages.setup.acts import count, errors, of, send
from training.pages.entry import second_factor
from training.records.models import Record
from training.standing.models import Draft

HOLD = {"skill": "suction", "reason": "A cold", "on": "2026-05-14"}


@pytest.fixture
def supervisor(cast, signed_in):
    with_password(cast.north.supervisor.user)
    return signed_in(cast.north.supervisor)


def hold(client, cast, **more):
    fields = {**HOLD, "caregiver": cast.north.mother.case_id, **more}
    return send(client, of(cast.north.family, "hold-new"), **fields)


def test_without_a_second_factor_no_code_is_asked(cast, supervisor):
    hold(supervisor, cast)

    assert Record.objects.filter(kind="hold").exists()


@pytest.fixture
def enrolled(cast, supervisor):
    return enrol(cast.north.supervisor.user)


def test_the_form_asks_for_the_code_after_the_password(cast, supervisor, enrolled):
    page = supervisor.get(of(cast.north.family, "hold-new"))

    assert list(page.context["form"].fields)[-2:] == ["password", "second_factor"]
    assert 'name="second_factor"' in page.content.decode()


@pytest.mark.parametrize("code", ["", "000000", "not-a-code"])
def test_a_deed_without_the_right_code_is_not_written(cast, supervisor, enrolled, code):
    before = count(cast.north.family)

    answer = hold(supervisor, cast, second_factor=code)

    assert list(errors(answer)) == ["second_factor"]
    assert count(cast.north.family) == before


def test_a_deed_with_the_code_is_written(cast, supervisor, enrolled):
    hold(supervisor, cast, second_factor=code_at())

    assert Record.objects.filter(kind="hold").exists()


def test_a_deed_with_a_recovery_code_is_written(cast, supervisor, enrolled):
    hold(supervisor, cast, second_factor=enrolled[0])

    assert Record.objects.filter(kind="hold").exists()


def test_one_code_signs_one_deed(cast, supervisor, enrolled):
    hold(supervisor, cast, second_factor=code_at())
    before = count(cast.north.family)

    answer = hold(supervisor, cast, second_factor=code_at())

    assert "used already" in errors(answer)["second_factor"][0]
    assert count(cast.north.family) == before


def test_a_wrong_code_loses_nothing_typed(cast, supervisor, enrolled):
    page = hold(supervisor, cast, second_factor="000000").content.decode()

    assert "A cold" in page


@pytest.mark.parametrize("wrong", [{"password": "not the password"}, {"reason": ""}])
def test_a_code_is_not_used_up_when_something_else_is_wrong(cast, supervisor, enrolled, wrong):
    hold(supervisor, cast, **{"second_factor": code_at(), **wrong})

    assert second_factor.spend(cast.north.supervisor.user, code_at())


def test_five_wrong_passwords_at_signing_lock_it(cast, supervisor):
    for _n in range(4):
        hold(supervisor, cast, password="not the password")
    answer = hold(supervisor, cast, password="not the password")

    assert "Try again in 15 min" in errors(answer)["password"][0]
    assert "password" in errors(hold(supervisor, cast))


def test_wrong_codes_at_signing_count_too(cast, supervisor, enrolled):
    for _n in range(5):
        answer = hold(supervisor, cast, second_factor="000000")

    assert "Try again in 15 min" in errors(answer)["second_factor"][0]
    assert "password" in errors(hold(supervisor, cast, second_factor=code_at()))


def test_signing_forgets_what_was_wrong_before(cast, supervisor):
    for _n in range(4):
        hold(supervisor, cast, password="not the password")
    hold(supervisor, cast)
    for _n in range(4):
        answer = hold(supervisor, cast, password="not the password")

    assert "That is not your password" in errors(answer)["password"][0]


# The other places where something is signed


def test_a_draft_is_signed_with_the_code(bedside):  # noqa: F811
    enrol(bedside.home.educator.user)
    bedside.all_alone()

    bedside.sign()
    assert Draft.objects.exists()

    bedside.client.post(
        bedside.url("draft-sign"), {"password": PASSWORD, "shown": bedside.shown(), "second_factor": code_at()}
    )
    assert not Draft.objects.exists()


def test_drafts_are_signed_together_with_one_code(bedside):  # noqa: F811
    enrol(bedside.home.educator.user)
    bedside.all_alone()
    address = reverse("drafts-sign", kwargs={"family": bedside.home.family.public_id})
    one = bedside.client.get(address).context["ones"][0]
    sent = {"draft": bedside.draft.public_id, f"shown-{bedside.draft.public_id}": one["digest"], "password": PASSWORD}

    bedside.client.post(address, sent)
    assert Draft.objects.exists()

    bedside.client.post(address, {**sent, "second_factor": code_at()})
    assert not Draft.objects.exists()


def test_looking_at_a_care_plan_asks_for_no_code(cast, signed_in, nurse):
    enrol(nurse)
    form = signed_in(nurse).get(of(cast.north.family, "care-plan-new")).context["form"]

    assert not {"password", "second_factor"} & set(form.fields)


# Role accounts


@pytest.fixture
def role_account(cast, supervisor):
    user = cast.north.supervisor.user
    user.is_role_account = True
    user.save()
    return supervisor


def test_a_role_account_signs_nothing(cast, role_account):
    before = count(cast.north.family)

    answer = hold(role_account, cast)

    assert "nobody can sign with it" in errors(answer)["password"][0]
    assert count(cast.north.family) == before


def test_a_role_account_is_told_before_it_tries(cast, role_account):
    assert "nobody can sign with it" in role_account.get(of(cast.north.family, "hold-new")).content.decode()


def test_a_role_account_reads(cast, role_account):
    assert role_account.get(of(cast.north.family, "family")).status_code == 200


def test_the_deeds_refuse_a_role_account_whatever_the_page_lets_through(cast):
    from competency.fields import RefusedError
    from tests.cast import TODAY, show

    cast.north.educator.user.is_role_account = True
    with pytest.raises(RefusedError):
        show(cast.north, cast.north.mother, "suction", TODAY)


def test_an_administrator_opens_a_role_account(cast, signed_in):
    fields = {
        "full_name": "Ward tablet", "username": "ward-tablet", "role": "auditor", "credential": "",
        "from_day": "2026-05-14", "password1": "six grey geese", "password2": "six grey geese", "is_role_account": "on",
    }  # fmt: skip
    send(signed_in(cast.north.administrator), reverse("member-new"), **fields)

    assert cast.north.organisation.members.get(user__username="ward-tablet").user.is_role_account
