"""A family is offered, declined, taken back or accepted; the agency's file begins and the hospital's record stays beside it."""

from __future__ import annotations

import uuid
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from django.core.management import call_command
from django.db import connection

from competency.fields import RefusedError
from competency.standing import Standing
from competency.verify import MisfitError
from tests.cast import NOW, PROGRAMME, TODAY, make_family, sign_off_suction, write
from tests.cast import at as instant
from tests.training.kept import place
from training.curriculum.programme_file import read_file
from training.handover import codes, deeds
from training.handover.keeping import content_of, misfit_of, pieces_of
from training.handover.models import Offer
from training.handover.received import ReceivedFile
from training.handover.summary import age_group, summary_of
from training.people.models import Family
from training.people.reminding import may_remind
from training.records import guards
from training.records.appending import head_of
from training.records.models import Record
from training.standing.deeds import publish_programme
from training.standing.file import open_file
from training.standing.models import BoardFamily
from training.standing.projecting import family_differences
from training.standing.questions import FamilyOn
from training.standing.rebuilding import rebuild_family


@pytest.fixture
def north(cast):
    return cast.north


@pytest.fixture
def south(cast):
    return cast.south


def picture(family: Family, day: date = TODAY) -> FamilyOn:
    return FamilyOn(open_file(family), day)


def offer(north: Any, south: Any, *, at: Any = NOW, family: Family | None = None, **changes: Any) -> Offer:
    family = family or north.family
    return deeds.offer_family(
        **{
            "family": family,
            "to": south.organisation,
            "reason": "Going home in their area.",
            "home_on": TODAY + timedelta(days=7),
            "note": "Nights first.",
            "shown": summary_of(picture(family)),
            "by": north.supervisor,
            "intent": uuid.uuid4(),
            "at": at,
            **changes,
        }
    )


def accept(made: Offer, south: Any, **changes: Any) -> Family:
    return deeds.accept(**{"offer": made, "programme": south.programme, "by": south.supervisor, "at": NOW, **changes})


def kinds(chain: uuid.UUID) -> list[str]:
    return [r.kind for r in Record.objects.of_chain(chain)]


# Codes ----------------------------------------------------------------------------------------------------


def test_a_code_stays_until_it_is_changed(south):
    first = codes.code_of(south.organisation, NOW).code

    assert codes.code_of(south.organisation, NOW).code == first
    assert codes.change_code(south.organisation, NOW).code != first


@pytest.mark.parametrize("typed", ["{}", " {} ", "{}\n"])
def test_a_code_is_read_as_it_is_typed(south, typed):
    code = codes.code_of(south.organisation, NOW).code

    assert codes.organisation_with(typed.format(codes.grouped(code).lower())) == south.organisation


@pytest.mark.parametrize("typed", ["", "ABCD-EFGH-JKMN", "'; --", "٣" * 12])
def test_a_wrong_code_names_nobody(south, typed):
    codes.code_of(south.organisation, NOW)

    assert codes.organisation_with(typed) is None


def test_a_changed_code_names_nobody_any_more(south):
    first = codes.code_of(south.organisation, NOW).code
    codes.change_code(south.organisation, NOW)

    assert codes.organisation_with(first) is None


# The offer ------------------------------------------------------------------------------------------------


def test_an_offer_is_a_signed_record_of_the_family_s_own_chain(north, south):
    offer(north, south)
    made = Record.objects.of_chain(north.family.public_id).last()

    assert (made.kind, made.data["to"], made.data["signed"]["name"]) == (
        "offer",
        south.organisation.title,
        north.supervisor.signed_name,
    )


def test_an_offer_moves_no_standing(north, south):
    sign_off_suction(north, north.mother)
    before = [(c.standing, c.last_day) for c in picture(north.family).cells.values()]
    offer(north, south)

    assert [(c.standing, c.last_day) for c in picture(north.family).cells.values()] == before


def test_the_summary_names_no_caregiver_and_no_birth_date(north):
    text = str(summary_of(picture(north.family)))
    personal = [c.full_name for c in north.family.caregivers.all()] + [north.family.patient_name, "2023"]

    assert [word for word in personal if word in text] == []


def test_the_summary_counts_caregivers_and_sets(north):
    found = summary_of(picture(north.family))

    assert (found["caregivers"], found["verdict"], found["called"]) == (2, "not_ready", "Ilse")
    assert all(held == 0 for _title, held in found["sets"])


@pytest.mark.parametrize(
    ("born", "word"),
    [
        (None, ""),
        (TODAY, "infant"),
        (date(2025, 5, 15), "infant"),
        (date(2025, 5, 14), "young_child"),
        (date(2021, 5, 15), "young_child"),
        (date(2021, 5, 14), "child"),
        (date(2013, 5, 15), "child"),
        (date(2013, 5, 14), "teenager"),
        (date(2008, 5, 15), "teenager"),
        (date(2008, 5, 14), "adult"),
    ],
)
def test_age_groups_turn_on_the_birthday(born, word):
    assert age_group(born, TODAY) == word


def test_the_same_post_twice_is_one_offer(north, south):
    intent = uuid.uuid4()
    first, again = offer(north, south, intent=intent), offer(north, south, intent=intent)

    assert (first.pk, Offer.objects.count()) == (again.pk, 1)


def test_a_family_is_offered_once_at_a_time(north, south):
    offer(north, south)
    with pytest.raises(RefusedError, match="offered already"):
        offer(north, south)


def test_nobody_offers_to_themselves(north):
    with pytest.raises(RefusedError, match="this organisation itself"):
        offer(north, north)


def test_an_offer_that_ran_out_makes_room_for_another(north, south):
    old = offer(north, south, at=NOW - timedelta(days=31))
    new = offer(north, south)
    old.refresh_from_db()

    assert (old.ended, new.is_open(NOW)) == ("expired", True)


@pytest.mark.parametrize(("days", "state"), [(30, ""), (31, "expired")])
def test_an_offer_waits_thirty_days(north, south, days, state):
    made = offer(north, south, at=NOW - timedelta(days=days))

    assert made.state(NOW) == state


def test_an_offer_is_never_voided(north, south):
    made = offer(north, south)
    with pytest.raises(RefusedError, match="never voided"):
        write(north.supervisor, north.family, "void", NOW, record=str(made.intent), reason="x")


# Withdrawn, declined --------------------------------------------------------------------------------------


def test_withdrawn_says_who_when_and_why(north, south):
    made = deeds.withdraw(offer=offer(north, south), reason="They stay.", by=north.supervisor, at=NOW)

    assert (made.ended, made.ended_reason, made.ended_at) == ("withdrawn", "They stay.", NOW)
    assert north.supervisor.signed_name in made.ended_by
    assert kinds(north.family.public_id)[-1] == "offer_withdrawn"


def test_declined_is_kept_by_both_sides(north, south):
    made = deeds.decline(offer=offer(north, south), reason="No night staff.", by=south.supervisor, at=NOW)

    assert kinds(north.family.public_id)[-1] == "offer_declined"
    assert kinds(made.public_id) == ["offer_declined"]
    assert Record.objects.of_chain(made.public_id)[0].organisation == south.organisation


@pytest.mark.parametrize("deed", [deeds.withdraw, deeds.decline])
def test_the_same_end_twice_is_one_record(north, south, deed):
    made = offer(north, south)
    by = north.supervisor if deed is deeds.withdraw else south.supervisor
    deed(offer=made, reason="x", by=by, at=NOW)
    before = Record.objects.count()
    deed(offer=made, reason="x", by=by, at=NOW)

    assert Record.objects.count() == before


def test_a_withdrawn_offer_is_not_accepted(north, south):
    made = offer(north, south)
    deeds.withdraw(offer=made, reason="x", by=north.supervisor, at=NOW)
    before = Record.objects.count()
    with pytest.raises(deeds.OfferEndedError):
        accept(made, south)

    assert (Record.objects.count(), Family.objects.filter(organisation=south.organisation).count()) == (before, 2)


def test_an_offer_that_ran_out_is_not_accepted(north, south):
    made = offer(north, south, at=NOW - timedelta(days=31))
    with pytest.raises(deeds.OfferEndedError):
        accept(made, south)


def test_an_accepted_offer_is_not_withdrawn(north, south):
    made = offer(north, south)
    accept(made, south)
    with pytest.raises(deeds.OfferEndedError):
        deeds.withdraw(offer=made, reason="x", by=north.supervisor, at=NOW)


# Accepted -------------------------------------------------------------------------------------------------


def test_the_agency_s_file_starts_with_the_hand_over(north, south):
    family = accept(offer(north, south), south)

    assert kinds(family.public_id) == ["handover", "family", "caregiver", "caregiver"]
    assert family.organisation == south.organisation


def test_it_notes_the_other_chain_s_head_and_count(north, south):
    made = offer(north, south)
    count, head = head_of(north.family.public_id)
    body = Record.objects.of_chain(accept(made, south).public_id)[0].data

    assert (body["head"], body["records"], body["from_title"]) == (head, count, north.organisation.title)


def test_no_standing_plan_authorisation_set_or_account_comes_along(north, south):
    sign_off_suction(north, north.mother)
    family = accept(offer(north, south), south)
    found = picture(family)

    assert found.care_plan is None
    assert {c.standing for c in found.cells.values()} == {None}
    assert [(c.sets, c.user) for c in family.caregivers.all()] == [([], None)] * 2


def test_the_hospital_s_site_does_not_come_along(north, south):
    place(north.educator, north.family, "Ward 3")
    family = accept(offer(north, south), south)
    board = BoardFamily.objects.get(family=family)

    assert (north.family.site, family.site, board.site) == ("Ward 3", "", "")
    assert list(family_differences(family.public_id)) == []


def test_the_summary_does_not_say_which_site(north):
    place(north.educator, north.family, "Ward 3")

    assert "Ward 3" not in str(summary_of(picture(north.family)))


def test_people_come_along_under_new_ids(north, south):
    family = accept(offer(north, south), south)
    there = {(c.full_name, c.relation, c.born) for c in north.family.caregivers.all()}

    assert {(c.full_name, c.relation, c.born) for c in family.caregivers.all()} == there
    assert not {c.public_id for c in family.caregivers.all()} & {c.public_id for c in north.family.caregivers.all()}


def test_who_left_before_does_not_come_along(north, south):
    father = north.father
    body = {"id": father.case_id, "name": father.full_name, "called": father.called, "relation": father.relation,
            "born": None, "is_patient": False, "from": None, "through": str(TODAY - timedelta(days=1)), "sets": []}  # fmt: skip
    write(north.educator, north.family, "caregiver", NOW, **body)
    family = accept(offer(north, south), south)

    assert [c.called for c in family.caregivers.all()] == ["Marit"]


def test_accepted_twice_by_two_members_is_one_file(north, south):
    made = offer(north, south)
    first = accept(made, south)
    before = Record.objects.count()

    assert accept(made, south, by=south.educator) == first
    assert Record.objects.count() == before


def test_the_hospital_s_file_says_to_whom_and_is_no_longer_watched(north, south):
    made = offer(north, south)
    accept(made, south)
    family = Family.objects.get(pk=north.family.pk)

    assert (family.handed_over_on, family.handed_over_to) == (TODAY, south.organisation.title)
    assert not may_remind(family, NOW)
    assert kinds(family.public_id)[-1] == "offer_accepted"


def test_what_is_recorded_after_the_offer_and_before_the_answer_comes_too(north, south):
    made = offer(north, south)
    sign_off_suction(north, north.mother)
    accept(made, south)
    there = ReceivedFile(content_of(Offer.objects.get(pk=made.pk)), "x")

    assert [r.kind for r in there.records][-1] == "demonstration"


def test_a_chain_that_does_not_fit_is_not_accepted(north, south):
    made = offer(north, south)
    guards.lift(connection)
    Record.objects.of_chain(north.family.public_id).filter(number=3).update(digest="0" * 64)
    guards.install(connection)
    with pytest.raises(MisfitError):
        accept(made, south)

    assert not Offer.objects.get(pk=made.pk).ended
    assert Family.objects.filter(organisation=south.organisation).count() == 2


# The hospital's record, beside ----------------------------------------------------------------------------


def received(north: Any, south: Any) -> tuple[Offer, dict[str, Any]]:
    made = offer(north, south)
    body = Record.objects.of_chain(accept(made, south).public_id)[0].data
    return Offer.objects.get(pk=made.pk), body


def test_the_kept_file_fits_its_head(north, south):
    made, body = received(north, south)

    assert misfit_of(made, sha256=body["sha256"], head=body["head"]) == ""


def test_a_changed_piece_is_noticed(north, south):
    made, body = received(north, south)
    guards.lift(connection)
    Record.objects.of_chain(made.public_id).filter(number=2).update(body=b'{"piece":1,"text":"x"}')
    guards.install(connection)

    assert "digest" in misfit_of(made, sha256=body["sha256"], head=body["head"])


def test_another_whole_file_in_its_place_is_noticed(north, south):
    made, body = received(north, south)

    assert misfit_of(made, sha256="0" * 64, head=body["head"]) != ""


def test_it_is_kept_in_pieces(north, south, monkeypatch):
    monkeypatch.setattr("training.handover.keeping.LONGEST", 2000)
    made, body = received(north, south)

    assert body["pieces"] == len(list(pieces_of(made))) > 5
    assert misfit_of(made, sha256=body["sha256"], head=body["head"]) == ""


def test_its_standings_are_worked_out_from_the_kept_file_alone(north, south):
    sign_off_suction(north, north.mother)
    mother, expected = north.mother, picture(north.family).cell(north.mother, "suction")
    made, _body = received(north, south)
    write(north.supervisor, north.family, "withdrawal", NOW, caregiver=mother.case_id, skill="suction",
          on=TODAY.isoformat(), time=None, reason="x", cover="y")  # fmt: skip
    there = ReceivedFile(content_of(made), north.organisation.title).on(TODAY)
    cell = there.cells[mother.case_id, "suction"]

    assert (cell.standing, cell.last_day) == (Standing.SIGNED_OFF, expected.last_day)


def test_every_cell_reads_as_in_the_hospital(north, south):
    sign_off_suction(north, north.mother)
    made, _body = received(north, south)
    there = ReceivedFile(content_of(made), north.organisation.title).on(TODAY)

    assert {key: (c.standing, c.brief) for key, c in there.cells.items()} == {
        key: (c.standing, c.brief) for key, c in picture(north.family).cells.items()
    }


# A sign-off taken over ------------------------------------------------------------------------------------


def test_a_sign_off_taken_over_holds_through_the_hospital_s_last_day(north, south):
    sign_off_suction(north, north.mother)
    last = picture(north.family).cell(north.mother, "suction").last_day
    family = accept(offer(north, south), south)
    mother = family.caregivers.get(called="Marit")
    write(south.educator, family, "care_plan", NOW, on=TODAY.isoformat(), time=None, facts={"suction": True})
    write(south.educator, family, "authorisation", NOW, skill="suction", prescriber="Dr",
          **{"from": TODAY.isoformat(), "through": None})  # fmt: skip
    write(south.educator, family, "accepted", NOW, caregiver=mother.case_id, skill="suction", on=TODAY.isoformat(),
          last_day=last.isoformat(), organisation=north.organisation.title)  # fmt: skip
    cell = picture(family).cell(mother, "suction")

    assert (cell.standing, cell.last_day) == (Standing.SIGNED_OFF, last)


# What follows from records --------------------------------------------------------------------------------


def test_the_rows_of_both_families_agree_with_their_chains(north, south):
    family = accept(offer(north, south), south)

    assert list(family_differences(family.public_id)) == []
    assert list(family_differences(north.family.public_id)) == []


def test_a_lost_hand_over_mark_is_named_and_put_back(north, south):
    accept(offer(north, south), south)
    Family.objects.filter(pk=north.family.pk).update(handed_over_on=None, handed_over_to="")
    found = rebuild_family(north.family.public_id, keep=True)

    assert any("handed_over_on" in line for line in found)
    assert Family.objects.get(pk=north.family.pk).handed_over_on == TODAY


def test_the_whole_database_fits(north, south, capsys):
    accept(offer(north, south), south)
    deeds.decline(offer=offer(north, south, family=north.families[1]), reason="x", by=south.supervisor, at=NOW)
    call_command("verify_records")

    assert "fit, and the rows" in capsys.readouterr().out


# Two programmes -------------------------------------------------------------------------------------------


def test_two_files_on_one_patient_under_two_programmes_are_each_worked_out_alone(north):
    other = publish_programme(
        organisation=north.organisation,
        file=read_file(PROGRAMME.replace("code: small", "code: second", 1)),
        at=instant(date(2024, 12, 1)),
    )
    beside = make_family(replace(north, programme=other), "Okonjo-Lind", "Ilse")
    sign_off_suction(north, north.mother)
    there = FamilyOn(open_file(beside), TODAY)

    assert picture(north.family).cell(north.mother, "suction").standing is Standing.SIGNED_OFF
    assert {c.standing for key, c in there.cells.items() if key[1] == "suction"} == {Standing.NOT_STARTED}
