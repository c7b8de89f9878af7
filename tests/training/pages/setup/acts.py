"""What the tests of this room do again and again."""

from __future__ import annotations

import uuid
from typing import Any

from django.contrib.messages import get_messages
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from tests.factories import PASSWORD
from training.people.models import Family
from training.records.models import Record


def of(family: Family, name: str, **more: Any) -> str:
    return reverse(name, kwargs={"family": family.public_id, **more})


def send(client: Client, address: str, **fields: Any) -> HttpResponse:
    """Post a form as it would be posted from its page, signed, unless a field says otherwise."""
    filled = {"intent": str(uuid.uuid4()), "password": PASSWORD, **fields}
    return client.post(address, {name: value for name, value in filled.items() if value is not None})


def said(response: HttpResponse) -> str:
    return " ".join(str(m) for m in get_messages(response.wsgi_request))


def errors(response: HttpResponse) -> dict[str, list[str]]:
    return dict(response.context["form"].errors)


def last(family: Family) -> Record:
    return Record.objects.of_chain(family.public_id).last()


def count(family: Family) -> int:
    return Record.objects.of_chain(family.public_id).count()
