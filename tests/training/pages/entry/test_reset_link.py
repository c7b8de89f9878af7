"""`manage.py reset_link`: the last way in, for who runs the site."""

from __future__ import annotations

from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from tests.training.pages.entry.conftest import enrol, is_signed_in, sign_in
from tests.training.pages.entry.test_closing import follow
from training.pages.entry import second_factor


def run(*args: str) -> str:
    out = StringIO()
    call_command("reset_link", *args, stdout=out)
    return out.getvalue().strip().rsplit(" ", 1)[-1]


def test_it_lets_its_holder_set_a_new_password(client, nurse):
    follow(client, run(nurse.username.upper()))
    sign_in(client, nurse.username, "seven brown bears")

    assert is_signed_in(client)


@pytest.mark.parametrize(("options", "keeps"), [([], True), (["--second-factor-off"], False)])
def test_a_second_factor_is_taken_off_only_when_asked(nurse, options, keeps):
    enrol(nurse)
    run(nurse.username, *options)

    assert second_factor.has_second_factor(nurse) is keeps


def test_a_closed_account_gets_none(nurse):
    nurse.is_active = False
    nurse.save()

    with pytest.raises(CommandError, match="closed"):
        run(nurse.username)


def test_a_name_that_is_not_there_is_said(db):
    with pytest.raises(CommandError, match="no account"):
        run("nobody-of-this-name")
