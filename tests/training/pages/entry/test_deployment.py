"""The deployment check has nothing to say, and nothing is silenced to make it so."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings
from django.core.exceptions import ImproperlyConfigured

from training import environment

ROOT = Path(__file__).resolve().parents[4]
PRODUCTION = {
    "DEBUG": "no", "SECRET_KEY": "k9-" + "vX3_q8Lr" * 8, "ALLOWED_HOSTS": "register.example",
    "PUBLIC_URL": "https://register.example",
}  # fmt: skip


def test_the_deployment_check_is_without_warnings():
    here = {name: value for name, value in os.environ.items() if name != "DJANGO_ALLOW_ASYNC_UNSAFE"}
    ended = subprocess.run(
        [sys.executable, "manage.py", "check", "--deploy", "--fail-level", "DEBUG"],
        cwd=ROOT, env={**here, **PRODUCTION}, capture_output=True, text=True, check=False,
    )  # fmt: skip  # the browser's tests leave that name in this process

    assert (ended.returncode, ended.stdout.strip()) == (0, "System check identified no issues (0 silenced)."), (
        ended.stderr
    )


def test_no_check_is_silenced():
    assert settings.SILENCED_SYSTEM_CHECKS == []


def test_passwords_are_hashed_by_argon2_in_turns():
    from importlib import import_module

    assert import_module("training.settings").PASSWORD_HASHERS[0] == "training.hashing.Argon2InTurns"


@pytest.mark.parametrize(("text", "found"), [("", 15), ("5", 5), ("0.5", 0.5)])
def test_a_number_of_the_environment(monkeypatch, text, found):
    monkeypatch.setenv("IDLE_MINUTES", text)

    assert environment.number("IDLE_MINUTES", default=15) == found


@pytest.mark.parametrize("text", ["0", "-1", "soon", "inf", "nan"])
def test_no_number_stops_with_an_instruction(monkeypatch, text):
    monkeypatch.setenv("IDLE_MINUTES", text)

    with pytest.raises(ImproperlyConfigured, match="write a number above zero"):
        environment.number("IDLE_MINUTES", default=15)
