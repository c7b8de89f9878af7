"""The drafts of one sitting, signed with one password: a record each, all or none."""

from __future__ import annotations

import uuid
from datetime import timedelta

import pytest
from django.urls import reverse

from tests.cast import NOW, TODAY, demonstration, plan, show
from tests.factories import PASSWORD
from training.people.models import Caregiver
from training.records.models import Record
from training.standing import drafts
from training.standing.models import CachedStanding, Draft


@pytest.fixture
def sitting(bedside):
    """Hand hygiene, suctioning and an emergency of one morning, each with every step done alone."""
    return Sitting(bedside)


class Sitting:
    def __init__(self, bedside):
        self.bedside, self.client = bedside, bedside.client
        self.url = reverse("drafts-sign", kwargs={"family": bedside.home.family.public_id})
        self.drafts = [
            self.add(skill, time) for skill, time in (("suction", "09:20"), ("hands", "09:00"), ("emergency", "09:40"))
        ]

    def add(self, skill, time, **changes):
        intent = uuid.uuid4()
        self.bedside.start(
            skill, intent=str(intent), time=time, setting="simulation" if skill == "emergency" else "patient", **changes
        )
        draft = Draft.objects.get(intent=intent)
        for place in range(1, 3 if skill == "suction" else 2):
            self.answer(draft, place, "independent")
        self.client.post(self.address(draft, "draft-rest"), {"all": "alone"})
        return draft

    @staticmethod
    def address(draft, name, **more):
        return reverse(name, kwargs={"draft": draft.public_id, **more})

    def answer(self, draft, place, result):
        self.client.post(self.address(draft, "draft-step", place=place), {"result": result, "value": "8"})

    def page(self):
        answer = self.client.get(self.url)
        assert answer.status_code == 200
        return answer

    def post(self, drafts=None, password=PASSWORD, **changes):
        """What the page as it is now sends: the named drafts, or every one it ticks."""
        ones = self.page().context["ones"]
        sent = {f"shown-{one['draft'].public_id}": one["digest"] for one in ones}
        chosen = [one["draft"] for one in ones] if drafts is None else drafts
        return {**sent, "draft": [str(d.public_id) for d in chosen], "password": password, **changes}

    def sign(self, drafts=None, **changes):
        return self.client.post(self.url, self.post(drafts, **changes))


def records(cast):
    return list(Record.objects.of_chain(cast.north.family.public_id).filter(kind="demonstration"))


# What is shown


@pytest.mark.parametrize(
    "said", ["Suctioning, Marit Okonjo-Lind", "Hand hygiene, Marit Okonjo-Lind", "Emergency response, Marit Okonjo-Lind",
             "5 of 5 steps independent.", "Hand hygiene: signed off, through 14 May 2027.", "1 of 2 passes on the patient.",
             "I watched this demonstration and recorded what I saw.", "8 s, limit 10 s"],
)  # fmt: skip
def test_each_draft_is_shown_with_what_it_brings(sitting, said):
    assert said in sitting.page().content.decode()


def test_they_stand_in_the_order_they_were_seen(sitting):
    assert [one["skill"].code for one in sitting.page().context["ones"]] == ["hands", "suction", "emergency"]


def test_each_is_ticked_beforehand(sitting):
    assert sitting.page().content.decode().count(" checked>") == 3


def test_what_is_not_finished_is_named_apart(sitting):
    sitting.bedside.start("hands")

    assert [skill.code for _draft, skill in sitting.page().context["others"]] == ["hands"]


def test_a_critical_one_without_its_line_is_not_ready(sitting):
    sitting.answer(sitting.drafts[0], 1, "prompted")

    assert [skill.code for _draft, skill in sitting.page().context["others"]] == ["suction"]


def test_a_draft_of_another_family_is_not_there(sitting, cast):
    other = cast.north.families[1].caregivers.first()
    Draft.objects.filter(pk=sitting.drafts[0].pk).update(caregiver=other)

    assert {one["skill"].code for one in sitting.page().context["ones"]} == {"hands", "emergency"}


def test_somebody_elses_drafts_are_not_there(sitting, cast):
    sitting.client.force_login(cast.north.supervisor.user)

    assert (sitting.page().context["ones"], sitting.page().context["others"]) == ([], [])


def test_a_later_one_is_judged_as_if_the_earlier_were_signed(sitting, cast):
    """Hand hygiene and the second pass of suctioning open the gate of a tube change, were all three signed."""
    mother, educator = cast.north.mother, cast.north.educator
    show(cast.north, mother, "suction", TODAY - timedelta(days=4))
    data = demonstration(mother, "tube_change", TODAY, educator, time="09:50")
    del data["caregiver"]
    tube = drafts.start(author=educator, caregiver=mother, data=data, intent=uuid.uuid4(), at=NOW)
    one = next(o for o in sitting.page().context["ones"] if o["draft"] == tube)

    assert one["kept_out"] == []
    assert any(b.strong.startswith("Tube change: signed off") for b in one["brings"])


# Signing


def test_one_password_makes_a_record_of_each(sitting, cast):
    sitting.sign()

    assert [r.data["skill"] for r in records(cast)] == ["hands", "suction", "emergency"]
    assert not Draft.objects.exists()


def test_each_signature_lists_all_that_were_signed_together(sitting, cast):
    sitting.sign()
    made = records(cast)

    assert [r.data["signed"]["together"] for r in made] == [[str(r.intent) for r in made]] * 3


def test_a_record_names_the_others_that_its_signature_covers(sitting, cast, signed_in):
    sitting.sign()
    first, second, third = records(cast)

    page = signed_in(cast.north.educator).get(reverse("record", args=[cast.north.family.public_id, second.number]))

    assert [entry.record for entry in page.context["signed_with"]] == [first, third]
    assert f"Record {third.number}: Demonstration" in page.content.decode()


def test_one_signed_alone_names_no_other(sitting, cast, signed_in):
    sitting.sign([sitting.drafts[1]])
    only = records(cast)[0]

    page = signed_in(cast.north.educator).get(reverse("record", args=[cast.north.family.public_id, only.number]))

    assert "Signed with it" not in page.content.decode()


def test_each_record_holds_the_digest_of_what_was_shown(sitting, cast):
    shown = {str(one["draft"].intent): one["digest"] for one in sitting.page().context["ones"]}
    sitting.sign()

    assert {str(r.intent): r.data["shown"] for r in records(cast)} == shown


def test_only_what_is_ticked_is_signed(sitting, cast):
    sitting.sign([sitting.drafts[1], sitting.drafts[2]])

    assert [r.data["skill"] for r in records(cast)] == ["hands", "emergency"]
    assert Draft.objects.get() == sitting.drafts[0]


def test_one_alone_is_signed_as_one(sitting, cast):
    sitting.sign([sitting.drafts[1]])

    assert "together" not in records(cast)[0].data["signed"]


def test_the_stored_spans_follow(sitting, cast):
    sitting.sign()

    assert CachedStanding.objects.get(caregiver=cast.north.mother, skill="hands", start=TODAY).standing == "signed_off"


def test_one_is_told_which_records_there_are_now(sitting, cast):
    answer = sitting.client.get(sitting.sign().url)
    numbers = ", ".join(str(r.number) for r in records(cast))

    assert f"Signed. Records {numbers} are in the file." in [str(m) for m in answer.context["messages"]]


# What goes wrong


@pytest.mark.parametrize("changes", [{"password": "nonsense"}, {"password": ""}, {"draft": []}, {"draft": ["x"]}])
def test_nothing_is_signed(sitting, cast, changes):
    answer = sitting.sign(**changes)

    assert (answer.status_code, records(cast), Draft.objects.count()) == (200, [], 3)
    assert answer.context["form"].errors


def test_when_one_draft_moved_none_is_signed(sitting, cast):
    sent = sitting.post()
    sitting.answer(sitting.drafts[1], 1, "not_seen")
    answer = sitting.client.post(sitting.url, sent)

    assert "What was to be signed has changed." in answer.content.decode()
    assert (records(cast), Draft.objects.count()) == ([], 3)


def test_the_new_text_is_shown_then_with_its_own_digest(sitting):
    sent = sitting.post()
    sitting.answer(sitting.drafts[1], 1, "not_seen")
    answer = sitting.client.post(sitting.url, sent)
    one = next(o for o in answer.context["ones"] if o["draft"] == sitting.drafts[1])

    assert (one["outcome"], one["is_ticked"]) == ("incomplete", True)
    assert one["digest"] != sent[f"shown-{one['draft'].public_id}"]


@pytest.mark.parametrize("gone", ["discarded", "signed alone", "unknown", "somebody else's"])
def test_when_one_draft_is_gone_none_is_signed(sitting, cast, gone):
    sent = sitting.post()
    first = sitting.drafts[0]
    if gone == "discarded":
        sitting.client.post(sitting.address(first, "draft-discard"))
    elif gone == "signed alone":
        sitting.sign([first])
    elif gone == "unknown":
        sent["draft"] = [*sent["draft"], str(uuid.uuid4())]
    else:
        Draft.objects.filter(pk=first.pk).update(author=cast.north.supervisor)
    before = records(cast)
    answer = sitting.client.post(sitting.url, sent)

    assert "What was to be signed has changed." in answer.content.decode()
    assert records(cast) == before


def test_a_care_plan_that_brings_a_step_keeps_all_unsigned(sitting, cast):
    sent = sitting.post()
    plan(cast.north, cast.north.family, TODAY.replace(day=13), {"suction": True, "cuff": "air", "tube_id_mm": 5})
    answer = sitting.client.post(sitting.url, sent)

    assert "What was to be signed has changed." in answer.content.decode()
    assert records(cast) == []


def test_an_account_that_became_the_caregivers_cannot_sign(sitting, cast):
    sent = sitting.post()
    Caregiver.objects.filter(pk=cast.north.mother.pk).update(user=cast.north.educator.user)

    assert sitting.client.post(sitting.url, sent).status_code == 200
    assert records(cast) == []


# Twice


def test_the_same_post_twice_gives_the_same_records_and_answer(sitting, cast):
    sent = sitting.post()
    answers = [sitting.client.post(sitting.url, sent) for _ in range(2)]

    assert answers[0].url == answers[1].url
    assert len(records(cast)) == 3


def test_a_post_made_again_by_somebody_else_signs_and_shows_nothing(sitting, cast):
    sent = sitting.post()
    sitting.client.post(sitting.url, sent)
    user = cast.north.supervisor.user
    user.set_password(PASSWORD)
    user.save()
    sitting.client.force_login(user)
    answer = sitting.client.post(sitting.url, sent)

    assert answer.status_code == 200
    assert len(records(cast)) == 3
