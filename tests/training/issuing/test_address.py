"""Where documents are checked, as the environment says it."""

from __future__ import annotations

import pytest
from django.core.exceptions import ImproperlyConfigured

from tests.training.documents.codes import decode, squares
from tests.training.issuing.conftest import number_in, packet_of
from training import environment
from training.issuing.checks import address_is_known


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("", ""),
        ("https://register.example.org/", "https://register.example.org"),
        ("http://[::1]:8000", "http://[::1]:8000"),
    ],
)
def test_an_address_is_read(monkeypatch, text, found):
    monkeypatch.setenv("PUBLIC_URL", text)

    assert environment.address("PUBLIC_URL") == found


@pytest.mark.parametrize(
    "text",
    [
        "register.example.org",
        "ftp://a.example",
        "https://",
        "https://me@a.example",
        "https://a.example/?b",
        "https://ä.example",
    ],
)
def test_anything_else_is_refused(monkeypatch, text):
    monkeypatch.setenv("PUBLIC_URL", text)

    with pytest.raises(ImproperlyConfigured, match="write an address"):
        environment.address("PUBLIC_URL")


@pytest.mark.parametrize(("url", "ids"), [("", ["issuing.W001"]), ("https://register.example.org", [])])
def test_the_deployment_check_asks_for_it(settings, url, ids):
    settings.PUBLIC_URL = url

    assert [said.id for said in address_is_known()] == ids


@pytest.mark.parametrize("url", ["", "https://register.example.org"])
def test_the_code_leads_there(settings, cast, fetch, read_pdf, url):
    settings.PUBLIC_URL = url
    data = fetch(cast.north.educator, packet_of(cast.north.family))

    assert decode(squares(read_pdf(data), -1)) == f"{url or 'http://testserver'}/check/{number_in(data)}/"
