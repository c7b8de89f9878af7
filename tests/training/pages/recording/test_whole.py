"""From the first touch to the record."""

from __future__ import annotations

from datetime import timedelta

from tests.cast import TODAY, show
from training.records.models import Record
from training.standing.models import Draft


def text_of(answer):
    assert answer.status_code == 200
    return answer.content.decode()


def test_the_whole_way(bedside, cast):
    show(cast.north, cast.north.mother, "hands", TODAY - timedelta(days=5))
    show(cast.north, cast.north.mother, "suction", TODAY - timedelta(days=4))
    page = text_of(bedside.client.get(bedside.start_url()))
    assert "Before the first step" in page
    answer = bedside.start()
    assert answer.url == bedside.url("draft-step", place=1), answer.content.decode()
    assert "Washes hands" in text_of(bedside.client.get(answer.url))
    answer = bedside.step(1, "independent")
    assert answer.url == bedside.url("draft-step", place=2)
    assert "Suctions no longer" in text_of(bedside.client.get(answer.url))
    answer = bedside.step(2, "independent", value="8")
    assert answer.url == bedside.url("draft-rest")
    text_of(bedside.client.get(answer.url))
    answer = bedside.client.post(bedside.url("draft-rest"), {"all": "alone"})
    text_of(bedside.client.get(answer.url))
    answer = bedside.client.post(bedside.url("draft-rest"), {"done": "yes"})
    assert answer.url == bedside.url()
    page = text_of(bedside.client.get(answer.url))
    assert "Gate opens: Tube change." in page
    assert "Suctioning: signed off, through 14 November 2026." in page
    answer = bedside.client.post(bedside.url(), {"note": "", "sign": "yes"})
    assert answer.url == bedside.url("draft-sign"), answer.content.decode()
    page = text_of(bedside.client.get(answer.url))
    answer = bedside.sign()
    record = Record.objects.of_chain(cast.north.family.public_id).last()
    assert record.kind == "demonstration"
    assert answer.url.endswith(f"/records/{record.number}/")
    assert not Draft.objects.exists()
