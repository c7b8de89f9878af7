"""REPLICA_URL: the site's database on another server, and nothing else."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.core.exceptions import ImproperlyConfigured

from training import environment

SITE = "postgres://site:s@db.example:5432/register"
REPLICA = "postgres://site:r@replica.example:5433/register"
OWNER = "postgres://owner:o@db.example:5432/register"
ROOT = Path(__file__).resolve().parents[3]


def replica(monkeypatch, site: str, text: str) -> dict[str, object]:
    monkeypatch.setenv("DATABASE_URL", site)
    monkeypatch.setenv("REPLICA_URL", text)
    return environment.replica(folder=Path("/nowhere"))


@pytest.mark.parametrize("site", ["", SITE])
def test_without_one_there_is_none(monkeypatch, site):
    assert replica(monkeypatch, site, "") == {}


def test_it_has_what_the_site_s_database_has(monkeypatch):
    found = replica(monkeypatch, SITE, REPLICA)
    assert (found["HOST"], found["PORT"], found["PASSWORD"]) == ("replica.example", "5433", "r")
    same = environment.database(SITE, folder=Path("/nowhere"))
    assert {name for name in same if found[name] != same[name]} == {"HOST", "PORT", "PASSWORD"}


def test_it_only_reads_and_is_not_waited_for(monkeypatch):
    found = replica(monkeypatch, SITE, REPLICA)
    assert found["TEST"] == {"MIRROR": "default"}
    assert "default_transaction_read_only=on" in found["OPTIONS"]["options"]
    assert found["OPTIONS"]["connect_timeout"] == 2


@pytest.mark.parametrize(
    ("site", "text", "words"),
    [
        ("", REPLICA, "is for PostgreSQL"),
        ("sqlite:////srv/register.sqlite3", REPLICA, "is for PostgreSQL"),
        (SITE, "sqlite:////srv/register.sqlite3", "is for PostgreSQL"),
        (SITE, "mysql://site@replica.example/register", "is for PostgreSQL"),
        (SITE, "replica.example", "is for PostgreSQL"),
        (SITE, REPLICA.replace("/register", "/other"), "one database and one role"),
        (SITE, REPLICA.replace("site:r", "owner:r"), "one database and one role"),
        (SITE, REPLICA.replace("site:r@", ""), "one database and one role"),
    ],
)
def test_what_does_not_fit_is_refused(monkeypatch, site, text, words):
    with pytest.raises(ImproperlyConfigured, match=words):
        replica(monkeypatch, site, text)


ASK = (
    "import json; from training import settings as s; "
    "print(json.dumps([sorted(s.DATABASES), getattr(s, 'DATABASE_ROUTERS', [])]))"
)
ROUTER = ["training.tenancy.replica.Router"]


@pytest.mark.parametrize(
    ("given", "aliases", "routers"),
    [
        ({"REPLICA_URL": REPLICA}, ["default", "replica"], ROUTER),
        ({}, ["default"], []),
        ({"REPLICA_URL": REPLICA, "DATABASE_OWNER_URL": OWNER}, ["default", "replica"], ROUTER),
        ({"REPLICA_URL": REPLICA, "DATABASE_OWNER_URL": OWNER, "DATABASE_AS_OWNER": "yes"}, ["default"], []),
    ],
)
def test_the_settings_name_a_router_only_with_one(given, aliases, routers):
    """The owner's commands read where they write."""
    names = ("REPLICA_URL", "DATABASE_OWNER_URL", "DATABASE_AS_OWNER")
    others = {name: value for name, value in os.environ.items() if name not in names}
    done = subprocess.run(
        [sys.executable, "-c", ASK], cwd=ROOT, env={**others, "DATABASE_URL": SITE, **given},
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert json.loads(done.stdout) == [aliases, routers]
