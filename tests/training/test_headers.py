"""What every answer carries, whoever asks and whatever comes of it; and what stands in no answer and in no log line."""

from __future__ import annotations

import io
import logging
import logging.config
import os
import re
import runpy
import subprocess
import sys
import uuid
from html.parser import HTMLParser
from pathlib import Path

import pytest
from django.test import Client
from django.urls import URLPattern, get_resolver, path, reverse
from django.views import View

from tests.cast import TODAY, show
from tests.factories import PASSWORD, UserFactory
from training.log.models import Entry
from training.pages.urls import urlpatterns as site
from training.standing.models import Draft

ROOT = Path(__file__).parents[2]
ROLES = ("visitor", "educator", "supervisor", "administrator", "auditor", "caregiver", "stranger")
EVENT = re.compile(r"^on[a-z]+$")


def patterns(found=None):
    """Every address of the site by its name."""
    for pattern in found if found is not None else get_resolver().url_patterns:
        if isinstance(pattern, URLPattern):
            yield pattern
        else:
            yield from patterns(pattern.url_patterns)


def parts(home):
    """What stands in addresses, as this organisation has it."""
    made = show(home, home.mother, "hands", TODAY)
    return {
        "family": home.family.public_id,
        "caregiver": home.mother.public_id,
        "member": home.educator.public_id,
        "programme": home.programme.public_id,
        "draft": uuid.uuid4(),
        "skill": "hands",
        "number": made.number,
        "edition": 1,
        "place": 1,
        "step": "s01",
        "code": "hands",
        "question": "kit",
        "offer": uuid.uuid4(),
        "passkey": 1,
        "uidb64": "MQ",
        "token": "none-such",
    }


def address(pattern, known):
    return reverse(pattern.name, kwargs={name: known[name] for name in pattern.pattern.converters})


def read_through(answer):
    """Take a file to its end, which closes it."""
    return b"".join(answer.streaming_content) if answer.streaming else answer.content


def who(cast, role):
    if role == "caregiver":
        mother = cast.north.mother
        mother.user = UserFactory(full_name="Marit")
        mother.save()
        return mother.user
    return cast.stranger if role == "stranger" else getattr(cast.north, role).user


@pytest.fixture
def crawl(cast):
    """Every address, asked for by GET and by POST, with the answers: a list of (name, method, answer)."""
    known = parts(cast.north)

    def run(role):
        client = Client(raise_request_exception=False)
        user = None if role == "visitor" else who(cast, role)
        answers = []
        for pattern in patterns():
            for method in ("get", "post"):
                if user is not None:
                    user.refresh_from_db()  # one of the addresses signs out everywhere
                    client.force_login(user)  # again each time: another signs out
                answer = getattr(client, method)(address(pattern, known))
                read_through(answer)
                answers.append((pattern.name, method, answer))
        return answers

    return run


# Headers


def troubles(name, method, answer, is_signed_in):
    """What an answer lacks."""
    told = answer.headers
    policy = told.get("Content-Security-Policy", "")
    rules = {
        "no policy": "default-src 'self'" in policy
        and "frame-ancestors 'none'" in policy
        and "object-src 'none'" in policy,
        "a lax policy": not re.search(r"unsafe-|\*|https?:", policy),
        "may be framed": told.get("X-Frame-Options") == "DENY",
        "may be sniffed": told.get("X-Content-Type-Options") == "nosniff",
        "tells where from": told.get("Referrer-Policy") in ("same-origin", "no-referrer"),
        "shares its opener": told.get("Cross-Origin-Opener-Policy") == "same-origin",
        "may ask for the camera": all(
            f"{thing}=()" in told.get("Permissions-Policy", "")
            for thing in ("camera", "microphone", "geolocation", "payment")
        ),
        "may be kept": not is_signed_in or told.get("Cache-Control") == "private, no-store",
        "tells the server": "Server" not in told and "X-Powered-By" not in told,
    }
    return [f"{method} {name} {answer.status_code}: {trouble}" for trouble, is_fine in rules.items() if not is_fine]


class Inline(HTMLParser):
    """Finds what the policy would refuse: scripts and styles in the page, and attributes that run."""

    def __init__(self):
        super().__init__()
        self.found, self.inside = [], None

    def handle_starttag(self, tag, attrs):
        named = dict(attrs)
        self.found += [f"{tag} {name}" for name in named if EVENT.match(name) or name == "style"]
        self.found += [
            f"{tag} {n}" for n, v in attrs if n in ("href", "src", "action") and (v or "").startswith("javascript:")
        ]
        if tag == "style" or (tag == "script" and "src" not in named and named.get("type") != "application/json"):
            self.found.append(f"inline {tag}")


def inline(answer):
    if answer.streaming or "html" not in answer.headers.get("Content-Type", ""):
        return []
    parser = Inline()
    parser.feed(answer.content.decode())
    return parser.found


@pytest.mark.parametrize("role", ROLES)
def test_every_answer_has_every_header_and_nothing_inline(crawl, role):
    answers = crawl(role)
    found = [t for answer in answers for t in troubles(*answer, is_signed_in=role != "visitor")]
    found += [f"{method} {name}: {what}" for name, method, answer in answers for what in inline(answer)]

    assert found == []
    assert not [(n, m) for n, m, answer in answers if answer.status_code >= 500]
    assert len(answers) > 100


def test_the_finder_finds():
    parser = Inline()
    parser.feed(
        '<p style="x" onclick="y"><script>z</script><style></style><a href="javascript:1"><script src="/x"></script>'
    )

    assert sorted(parser.found) == ["a href", "inline script", "inline style", "p onclick", "p style"]


class Failing(View):
    """A view that fails with the family's words in its variables and in what it says."""

    def get(self, request, **kwargs):
        told = " ".join(["Ilse", "coughs"])  # in pieces: a traceback shows the line it stands in
        raise RuntimeError(f"half way: {request.GET.get('x', told)}")

    def post(self, request, **kwargs):
        said = request.POST["note"]
        raise RuntimeError(f"half way: {said}")


urlpatterns = [*site, path("failing/", Failing.as_view(), name="failing")]
handler500 = "training.pages.cannot_save.stopped_half_way"


@pytest.fixture
def failing(settings, cast):
    settings.ROOT_URLCONF = __name__
    client = Client(raise_request_exception=False, enforce_csrf_checks=False)
    client.force_login(cast.north.educator.user)
    return client


@pytest.mark.parametrize(
    ("method", "where", "status"),
    [("get", "/nowhere/", 404), ("get", "/failing/", 500), ("post", "/place/", 404), ("put", "/board/", 405)],
)
def test_an_error_has_them_too(failing, method, where, status):
    answer = getattr(failing, method)(where)

    assert answer.status_code == status
    assert troubles(where, method, answer, is_signed_in=True) == []


def test_a_page_without_a_token_has_them_too(cast):
    client = Client(enforce_csrf_checks=True)
    client.force_login(cast.north.educator.user)
    answer = client.post("/place/")

    assert answer.status_code == 403
    assert troubles("place", "post", answer, is_signed_in=True) == []


def test_a_file_to_print_has_them_too(cast, signed_in):
    answer = signed_in(cast.north.educator).get(f"/families/{cast.north.family.public_id}/packet.pdf")

    assert answer["Content-Type"] == "application/pdf"
    assert troubles("packet", "get", answer, is_signed_in=True) == []


@pytest.mark.parametrize("name", ["register/register.js", "register/tokens.css", "bootstrap/css/bootstrap.min.css"])
def test_a_file_of_the_pages_has_what_it_needs(db, settings, name):
    settings.WHITENOISE_AUTOREFRESH = settings.WHITENOISE_USE_FINDERS = True
    answer = Client().get(f"/static/{name}")
    read_through(answer)

    assert answer.status_code == 200
    assert troubles(name, "get", answer, is_signed_in=False) == []


def test_a_slash_that_was_left_out_is_not_kept_either(cast, signed_in):
    answer = signed_in(cast.north.educator).get("/families")

    assert answer.status_code == 301
    assert troubles("families", "get", answer, is_signed_in=True) == []


def test_in_production_cookies_are_secure_and_the_deployment_check_is_content():
    asked = (
        "from django.conf import settings as s; from django.core.management import call_command, execute_from_command_line;"
        "import django; django.setup();"
        "print(s.SESSION_COOKIE_SECURE, s.CSRF_COOKIE_SECURE, s.SESSION_COOKIE_HTTPONLY, s.SECURE_SSL_REDIRECT,"
        " s.SECURE_HSTS_SECONDS > 0, getattr(s, 'SILENCED_SYSTEM_CHECKS', []));"
        "call_command('check', deploy=True, fail_level='WARNING')"
    )
    production = {"DEBUG": "no", "SECRET_KEY": "k3-" + "aZ9_x" * 12, "ALLOWED_HOSTS": "register.example.org", "PUBLIC_URL": "https://register.example.org",
                  "DJANGO_SETTINGS_MODULE": "training.settings"}  # fmt: skip
    ended = subprocess.run(
        [sys.executable, "-c", asked],
        cwd=ROOT,
        env={**os.environ, **production},
        capture_output=True,
        text=True,
        check=False,
    )

    assert ended.stdout.splitlines()[0] == "True True True True True []"
    assert "no issues" in ended.stdout
    assert ended.returncode == 0, ended.stderr


# Log lines


@pytest.fixture
def lines(settings):
    """What the site writes in its log, through the handlers it really has."""
    text = io.StringIO()
    logging.config.dictConfig(settings.LOGGING)
    handler = next(
        h for h in logging.getLogger().handlers if isinstance(h, logging.StreamHandler) and h.get_name() == "console"
    )
    there = handler.setStream(text)
    yield text
    handler.setStream(there)


@pytest.mark.parametrize("debug", [False, True])
def test_what_was_posted_stands_in_no_log_line(failing, lines, settings, debug):
    settings.DEBUG = debug
    failing.post("/failing/", {"note": "Marit has been drinking", "password": PASSWORD})
    failing.get("/failing/")
    read = lines.getvalue()

    assert "RuntimeError" in read
    assert "Failing" in read or "in post" in read
    for personal in ("Marit", "drinking", "Ilse coughs", PASSWORD):
        assert personal not in read


def test_what_was_asked_stands_in_no_log_line(failing, lines):
    failing.get("/failing/?x=Okonjo")
    failing.get("/nowhere/?q=Okonjo")

    assert "Okonjo" not in lines.getvalue()


def test_the_access_log_has_addresses_without_what_was_asked():
    line = runpy.run_path(str(ROOT / "gunicorn.conf.py"))["access_log_format"]

    assert set(re.findall(r"%\((\w+)\)s", line)) == {"t", "m", "U", "s", "B", "M"}


# Nothing is written by an auditor


OWN_ACCOUNT = {  # anybody's own, and nothing of a family
    "account", "account-password", "second-factor", "second-factor-off", "recovery-codes", "passkey-new", "passkey-keep", "passkey-off",
    "sign-in-code", "sign-out-everywhere", "stay-signed-in", "new-password",
}  # fmt: skip
JOINING = {"join", "join-you", "join-new", "join-have"}  # a visitor's
MAY_POST = {
    "sign-in", "sign-out", "place",  # coming and going
    "board", "log",  # what is looked for, kept out of the address
    "check",  # a visitor's too
    "mine-say", "mine-sign",  # a caregiver's own, 404 for anybody else
    *OWN_ACCOUNT, *JOINING,
}  # fmt: skip


def test_an_auditor_posts_nothing(crawl):
    draft_before = Draft.objects.count()
    answers = {name: answer.status_code for name, method, answer in crawl("auditor") if method == "post"}

    assert {n: s for n, s in answers.items() if n not in MAY_POST and s not in (403, 404, 405)} == {}, answers
    assert Draft.objects.count() == draft_before


def test_it_is_the_right_that_is_missing(crawl):
    """403, not only 404: an auditor of the house is let in to look, and is refused to write."""
    answers = {name: answer.status_code for name, method, answer in crawl("auditor") if method == "post"}

    assert sum(1 for status in answers.values() if status == 403) > 25


SHOWS_NOBODY = {
    *OWN_ACCOUNT, *JOINING, "sign-in", "place", "bedside", "bedside-worker", "check", "check-number",  # nothing of a family, whoever asks
}  # fmt: skip


def test_an_auditors_every_page_is_in_the_log(cast, signed_in):
    client, known = signed_in(cast.north.auditor), parts(cast.north)
    missing, shown = [], 0
    for pattern in patterns():
        before = Entry.objects.count()
        answer = client.get(address(pattern, known))
        read_through(answer)
        if answer.status_code == 200 and pattern.name not in SHOWS_NOBODY:
            shown += 1
            found = Entry.objects.order_by("-pk").first()
            if Entry.objects.count() != before + 1 or found.view != pattern.name or found.who_role != "auditor":
                missing.append(pattern.name)

    assert missing == []
    assert shown > 12
