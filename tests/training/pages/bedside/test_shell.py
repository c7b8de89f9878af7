"""What a device keeps of the site: the same page for everybody, without anybody in it; and the way past the lock."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from django.contrib.staticfiles import finders

from tests.factories import PASSWORD
from training.pages.bedside import shell

ROOT = Path(__file__).resolve().parents[4]
SCRIPTS = sorted((ROOT / "training/pages/static/register").glob("bedside*.js"))


def test_everybody_gets_the_same_page(cast, client, signed_in):
    visitor = client.get("/bedside/").content

    assert [signed_in(who).get("/bedside/").content for who in (cast.north.educator, cast.stranger)] == [visitor] * 2


def test_a_message_that_waits_is_not_shown_there(device):
    draft = device.post().json()["draft"]
    device.client.post(f"{draft}discard/")

    assert b"thrown away" not in device.client.get("/bedside/").content
    assert b"thrown away" in device.client.get("/families/").content


def test_the_worker_may_serve_the_whole_site(client):
    answer = client.get("/bedside/worker.js")

    assert (answer["Service-Worker-Allowed"], answer["Content-Type"], answer["Cache-Control"]) == (
        "/",
        "text/javascript",
        "no-cache",
    )


def test_the_policy_lets_the_worker_run(client):
    policy = client.get("/bedside/")["Content-Security-Policy"]

    assert "default-src 'self'" in policy
    assert not re.search("worker-src|connect-src|script-src|unsafe", policy)


def listed(client):
    text = client.get("/bedside/worker.js").content.decode().encode().decode("unicode_escape")
    return set(re.findall(r'"([^"]+)"', text[text.index("FILES") : text.index("];")]))


def test_the_worker_keeps_everything_the_page_fetches(client):
    page = client.get("/bedside/").content.decode()
    wanted = set(re.findall(r'<(?:script src|link rel="\w+" href)="([^"]+)"', page))

    assert wanted - listed(client) == set()


def test_the_worker_keeps_nothing_that_is_not_there(client):
    assert [name for name in shell.FILES if finders.find(name) is None] == []


def test_it_has_another_name_when_a_file_has_changed(client, monkeypatch, tmp_path, settings):
    settings.DEBUG = True
    before = client.get("/bedside/worker.js").content
    changed = tmp_path / "changed.js"
    changed.write_text("1")
    found = finders.find
    monkeypatch.setattr(finders, "find", lambda name: str(changed) if name.endswith("home.js") else found(name))

    assert client.get("/bedside/worker.js").content != before


def test_it_keeps_its_name_while_nothing_changes(client, settings):
    settings.DEBUG = True

    assert client.get("/bedside/worker.js").content == client.get("/bedside/worker.js").content


@pytest.mark.parametrize("script", SCRIPTS, ids=lambda path: path.name)
def test_a_script_stays_small(script):
    assert len(script.read_text().splitlines()) <= 250


@pytest.mark.parametrize("script", SCRIPTS, ids=lambda path: path.name)
def test_a_script_keeps_no_secret_and_writes_no_markup(script):
    text = script.read_text()

    assert not re.search(
        r"innerHTML|outerHTML|insertAdjacentHTML|document\.write|eval\(|localStorage|document\.cookie", text
    )


OUTCOMES = ("passed", "not_passed", "incomplete", "disputed", "pass_mark", "signed_off")


@pytest.mark.parametrize("script", SCRIPTS, ids=lambda path: path.name)
def test_no_script_works_an_outcome_out(script):
    assert [word for word in OUTCOMES if re.search(rf"\b{word}\b", re.sub(r"//.*", "", script.read_text()))] == []


# The way past the lock


@pytest.mark.parametrize(("password", "status"), [(PASSWORD, 204), ("not this", 403), ("", 403)])
def test_the_password_opens_the_lock(cast, client, password, status):
    user = cast.north.educator.user
    user.set_password(PASSWORD)
    user.save()
    client.force_login(user)

    assert client.post("/bedside/unlock/", {"password": password}).status_code == status


def test_only_somebody_signed_in_is_asked(client):
    assert client.post("/bedside/unlock/", {"password": PASSWORD}).status_code == 302


# In the bar of every page


@pytest.mark.parametrize(
    ("role", "takes"), [("educator", True), ("supervisor", True), ("auditor", False), ("administrator", False)]
)
def test_a_family_page_takes_along_for_who_records(cast, signed_in, role, takes):
    family = cast.north.family.public_id
    page = signed_in(getattr(cast.north, role)).get(f"/families/{family}/").content.decode()

    assert (f'data-pack="/bedside/pack/{family}/"' in page) is takes


def test_everybody_who_signs_out_is_asked_by_the_script(cast, signed_in):
    page = signed_in(cast.north.auditor).get("/families/").content.decode()

    assert f'data-member="{cast.north.auditor.observer_id}"' in page


def test_the_sign_in_page_has_none_of_it(client):
    assert "data-bedside-top" not in client.get("/sign-in/").content.decode()
