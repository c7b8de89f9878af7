"""A family's whole record as a file, taken from its page."""

from __future__ import annotations

import pytest
from django.urls import reverse

from competency.verify import main
from training.log.models import Entry


def take(client, family):
    return client.get(reverse("family-export", args=[family.public_id]))


@pytest.mark.parametrize(
    ("role", "status"), [("educator", 403), ("supervisor", 200), ("administrator", 200), ("auditor", 200)]
)
def test_who_may_take_it(cast, signed_in, role, status):
    answer = take(signed_in(getattr(cast.north, role)), cast.north.family)
    b"".join(answer)

    assert answer.status_code == status


def test_the_other_house_finds_nothing(cast, signed_in):
    assert take(signed_in(cast.south.supervisor), cast.north.family).status_code == 404


def test_whoever_receives_it_can_check_it(cast, signed_in, tmp_path):
    answer = take(signed_in(cast.north.auditor), cast.north.family)
    file = tmp_path / "record.jsonl"
    file.write_bytes(b"".join(answer))

    assert main([str(file)]) == 0


def test_its_name_names_nobody(cast, signed_in):
    answer = take(signed_in(cast.north.supervisor), cast.north.family)
    b"".join(answer)

    assert f"{cast.north.family.public_id}.jsonl" in answer["Content-Disposition"]


def test_taking_it_is_a_deed_told_once(cast, signed_in):
    before = Entry.objects.filter(about_id=cast.north.family.public_id).count()
    b"".join(take(signed_in(cast.north.auditor), cast.north.family))
    entries = Entry.objects.filter(about_id=cast.north.family.public_id).order_by("-pk")

    assert entries.count() == before + 1
    assert (entries[0].kind, entries[0].what, entries[0].who_role) == ("deed", "family-exported", "auditor")


@pytest.mark.parametrize(("role", "links"), [("educator", 0), ("supervisor", 1), ("administrator", 1), ("auditor", 1)])
def test_who_may_take_it_finds_it_on_the_page(cast, signed_in, role, links):
    family = cast.north.family
    text = signed_in(getattr(cast.north, role)).get(reverse("family", args=[family.public_id])).content.decode()

    assert text.count(reverse("family-export", args=[family.public_id])) == links
