"""What the tests of this room do again and again."""

from __future__ import annotations

import re
from html import unescape

from django.urls import reverse


def address(caregiver):
    return reverse("mine-family", args=[caregiver.public_id])


def page(client, caregiver):
    return client.get(address(caregiver)).context["page"]


def text_of(answer):
    """What is read on a page: its text without tags."""
    body = answer.content.decode().split("<main", 1)[1]
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", body)))


def text(client, caregiver):
    return text_of(client.get(address(caregiver)))


def skills(posts):
    return [post.cell.skill.code for post in posts]
