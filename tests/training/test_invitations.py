"""Invitations: a code that opens one account once, stays closed to guesses, and is not burned by the wrong hand."""

from __future__ import annotations

import re
import threading
import uuid
from datetime import date, timedelta

import pytest
from django.db import IntegrityError, connections, transaction

from tests.cast import NOW, TODAY
from tests.factories import UserFactory
from training.invitations import codes, deeds, tries
from training.invitations.models import Invitation, RemovedAccount, TriedCode
from training.people.models import Caregiver, User

HERE, THERE = "192.0.2.1", "192.0.2.2"


@pytest.fixture
def marit(cast):
    return Caregiver.objects.select_related("family").get(pk=cast.north.mother.pk)


@pytest.fixture
def code(cast, marit):
    return invited(cast, marit)


def invited(cast, caregiver, now=NOW):
    return deeds.invite(caregiver=caregiver, by=cast.north.educator, intent=uuid.uuid4(), now=now)[1]


def found(code, now=NOW, address=HERE):
    return deeds.look_up(code, address=address, now=now)


def joined(invitation, user=None, now=NOW):
    return deeds.use(invitation.public_id, account=lambda _caregiver: user or UserFactory(), now=now)


def opens(code, now=NOW):
    try:
        return found(code, now) is not None
    except deeds.NoSuchCodeError:
        return False


# The code


def test_a_code_is_copied_without_doubt():
    made = {codes.new_code() for _ in range(300)}

    assert len(made) == 300
    assert all(re.fullmatch(r"[2-9A-HJKMNP-TV-Z]{4}(-[2-9A-HJKMNP-TV-Z]{4}){2}", one) for one in made)


@pytest.mark.parametrize("as_typed", ["{}", " {} ", "{}\n"])
@pytest.mark.parametrize("change", [str, str.lower, lambda c: c.replace("-", ""), lambda c: c.replace("-", " ")])
def test_a_code_opens_however_it_is_typed(code, as_typed, change):
    assert opens(as_typed.format(change(code)))


def test_the_code_is_kept_nowhere(code):
    row = Invitation.objects.values().get()
    plain = codes.as_typed(code)

    assert all(plain not in codes.as_typed(str(value)) for value in row.values())
    assert row["digest"] == codes.digest_of(code) != ""


def test_the_digest_depends_on_the_site_s_key(code, settings):
    before = codes.digest_of(code)
    settings.SECRET_KEY = "another key " * 5

    assert codes.digest_of(code) != before


# Making one


def test_it_says_who_made_it_when(cast, code):
    made = Invitation.objects.get()

    assert (made.made_by, made.made_at, made.expires_at) == (cast.north.educator.signed_name, NOW, NOW + timedelta(14))


def test_a_new_one_stops_the_old(cast, marit, code):
    newer = invited(cast, marit)

    assert (opens(code), opens(newer), Invitation.objects.unanswered().count()) == (False, True, 1)


def test_the_same_post_makes_one_and_shows_it_once(cast, marit):
    intent = uuid.uuid4()
    made = [deeds.invite(caregiver=marit, by=cast.north.educator, intent=intent, now=NOW) for _ in range(2)]

    assert (made[0][0], bool(made[0][1]), made[1][1]) == (made[1][0], True, "")
    assert opens(made[0][1])


def test_two_unanswered_ones_are_refused_by_the_database(cast, marit, code):
    with pytest.raises(IntegrityError), transaction.atomic():
        Invitation.objects.create(
            caregiver=marit, digest="x", made_by="x", made_at=NOW, expires_at=NOW + timedelta(days=1)
        )


def test_nobody_with_an_account_is_invited(cast, marit):
    Caregiver.objects.filter(pk=marit.pk).update(user=UserFactory())
    with pytest.raises(deeds.NotInvitedError):
        invited(cast, marit)


@pytest.mark.parametrize(("through", "is_refused"), [(TODAY - timedelta(1), True), (TODAY, False)])
def test_nobody_is_invited_after_their_last_day(cast, marit, through, is_refused):
    Caregiver.objects.filter(pk=marit.pk).update(through=through)
    try:
        invited(cast, marit)
        refused = False
    except deeds.NotInvitedError:
        refused = True

    assert refused is is_refused


# What it opens


@pytest.mark.parametrize(
    ("after", "is_open"),
    [(timedelta(0), True), (timedelta(14) - timedelta(seconds=1), True), (timedelta(14), False)],
)
def test_it_holds_for_fourteen_days(code, after, is_open):
    assert opens(code, NOW + after) is is_open


def test_it_is_used_once(code):
    invitation = found(code)
    joined(invitation)

    assert opens(code) is False
    with pytest.raises(deeds.NoSuchCodeError):
        joined(invitation)


def test_it_gives_the_account_to_its_caregiver_alone(cast, marit, code):
    user = UserFactory()
    joined(found(code), user)
    made = Invitation.objects.get()

    assert list(Caregiver.objects.of(user)) == [marit]
    assert (made.used_by, made.used_at) == (user, NOW)


def test_a_withdrawn_one_opens_nothing(cast, marit, code):
    deeds.withdraw(caregiver=marit, by=cast.north.supervisor, now=NOW)

    assert (opens(code), Invitation.objects.get().withdrawn_by) == (False, cast.north.supervisor.signed_name)


@pytest.mark.parametrize(("through", "is_open"), [(TODAY, True), (TODAY - timedelta(1), False)])
def test_it_ends_with_its_caregiver(marit, code, through, is_open):
    Caregiver.objects.filter(pk=marit.pk).update(through=through)

    assert opens(code) is is_open


def test_it_ends_where_an_account_came_another_way(marit, code):
    Caregiver.objects.filter(pk=marit.pk).update(user=UserFactory())

    assert opens(code) is False


def test_unknown_used_old_and_withdrawn_are_one_answer(cast, marit):
    used = invited(cast, marit)
    joined(found(used))
    father = Caregiver.objects.select_related("family").get(pk=cast.north.father.pk)
    withdrawn = invited(cast, father)
    invited(cast, father)
    answers = []
    for code, now in ((used, NOW), (withdrawn, NOW), ("AAAA-BBBB-CCCC", NOW)):
        with pytest.raises(deeds.NoSuchCodeError) as caught:
            found(code, now, THERE)
        answers.append(str(caught.value))

    assert len(set(answers)) == 1


# The wrong hand


def test_an_account_of_the_same_family_does_not_burn_it(cast, marit, code):
    user = UserFactory()
    Caregiver.objects.filter(pk=cast.north.father.pk).update(user=user)
    with pytest.raises(deeds.NotThisAccountError):
        joined(found(code), user)

    assert opens(code)
    assert Caregiver.objects.get(pk=marit.pk).user is None


@pytest.mark.parametrize(
    ("name", "born", "is_right"),
    [
        ("Marit", date(1990, 5, 1), True),
        ("  mÁrit ", date(1990, 5, 1), True),
        ("Marit Okonjo-Lind", date(1990, 5, 1), True),
        ("Joram", date(1990, 5, 1), False),
        ("", date(1990, 5, 1), False),
        ("Okonjo-Lind", date(1990, 5, 1), False),
        ("Marit", date(1990, 5, 2), False),
        ("Marit", None, False),
    ],
)
def test_the_person_says_who_they_are(code, name, born, is_right):
    try:
        deeds.check_person(found(code), name=name, born=born, address=HERE, now=NOW)
        right = True
    except deeds.NotThisPersonError:
        right = False

    assert (right, opens(code), TriedCode.objects.count()) == (is_right, True, 0 if is_right else 1)


def test_without_a_birth_date_on_file_the_name_is_enough(marit, code):
    Caregiver.objects.filter(pk=marit.pk).update(born=None)

    deeds.check_person(found(code), name="Marit", born=None, address=HERE, now=NOW)


# Guessing


def guess(times, address=HERE, now=NOW):
    for _ in range(times):
        with pytest.raises(deeds.NoSuchCodeError):
            found("AAAA-BBBB-CCCC", now, address)


def test_after_ten_wrong_ones_an_address_waits_even_with_the_right_one(code):
    guess(tries.FROM_ONE)
    with pytest.raises(tries.TooManyTriesError):
        found(code)

    assert found(code, address=THERE)


@pytest.mark.parametrize(("after", "waits"), [(tries.WINDOW - timedelta(seconds=1), True), (tries.WINDOW, False)])
def test_the_wait_is_a_quarter_of_an_hour(code, after, waits):
    guess(tries.FROM_ONE)
    try:
        found(code, NOW + after)
        waited = False
    except tries.TooManyTriesError:
        waited = True

    assert waited is waits


def test_wrong_answers_count_like_wrong_codes(code):
    guess(tries.FROM_ONE - 1)
    invitation = found(code)
    with pytest.raises(deeds.NotThisPersonError):
        deeds.check_person(invitation, name="Nobody", born=None, address=HERE, now=NOW)
    with pytest.raises(tries.TooManyTriesError):
        deeds.check_person(invitation, name="Marit", born=date(1990, 5, 1), address=HERE, now=NOW)


def test_there_is_a_bound_over_all_addresses(code, monkeypatch):
    monkeypatch.setattr(tries, "IN_ALL", 3)
    for n in range(3):
        guess(1, f"198.51.100.{n}")
    with pytest.raises(tries.TooManyTriesError):
        found(code, address=THERE)


def test_what_else_is_tried_is_counted_by_itself(code, monkeypatch):
    monkeypatch.setattr(tries, "IN_ALL", 3)
    for n in range(3):
        tries.count_one(f"198.51.100.{n}", NOW, "document")

    assert found(code, address=THERE)


@pytest.mark.django_db
def test_no_address_is_kept_in_words_and_none_for_long():
    tries.count_one(HERE, NOW)
    assert HERE not in str(TriedCode.objects.values().get())
    tries.count_one(THERE, NOW + tries.KEPT)

    assert TriedCode.objects.count() == 1


# An account taken away


def test_a_removed_account_leads_nowhere_and_the_person_stays(cast, marit):
    user = UserFactory(username="wrong.one")
    Caregiver.objects.filter(pk=marit.pk).update(user=user)
    deeds.remove_account(caregiver=marit, reason="The neighbour joined.", by=cast.north.supervisor, now=NOW)
    said = RemovedAccount.objects.get()

    assert list(Caregiver.objects.of(user)) == []
    assert Caregiver.objects.filter(pk=marit.pk).exists()
    assert (said.account, said.reason, said.by, said.at) == (
        "wrong.one", "The neighbour joined.", cast.north.supervisor.signed_name, NOW,
    )  # fmt: skip


def test_there_is_nothing_to_remove_twice(cast, marit):
    gone = deeds.remove_account(caregiver=marit, reason="x", by=cast.north.supervisor, now=NOW)

    assert (gone, RemovedAccount.objects.count()) == (None, 0)


def test_after_a_removal_they_can_be_invited_again(cast, marit, code):
    joined(found(code))
    deeds.remove_account(caregiver=marit, reason="x", by=cast.north.supervisor, now=NOW)

    assert opens(invited(cast, marit))


# Two at once


def test_two_posts_at_once_make_one_account(guards_lifted):
    """Each in a connection of its own, started together: one joins, the other is told, and there is one account."""
    from tests.cast import find_cast, make_cast

    cast = find_cast() or make_cast()
    invitation = found(invited(cast, Caregiver.objects.select_related("family").get(pk=cast.north.mother.pk)))
    start, outcomes = threading.Barrier(2), []

    def join(name):
        def account(caregiver):
            return User.objects.create_user(name, None, full_name=caregiver.full_name)

        start.wait(10)
        try:
            deeds.use(invitation.public_id, account=account, now=NOW)
            outcomes.append("joined")
        except deeds.NoSuchCodeError:
            outcomes.append("too late")
        finally:
            connections.close_all()

    threads = [threading.Thread(target=join, args=(f"marit{n}",)) for n in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)

    assert sorted(outcomes) == ["joined", "too late"]
    assert User.objects.filter(username__startswith="marit").count() == 1
