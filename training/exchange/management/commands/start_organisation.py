"""`manage.py start_organisation`: an organisation, its first administrator, and a programme to begin with."""

from __future__ import annotations

import getpass
import sys
from argparse import ArgumentParser
from datetime import date
from pathlib import Path
from typing import Any

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError
from django.db import transaction
from django.utils import timezone

from competency.fields import RefusedError
from training.curriculum.programme_file import read_file
from training.exchange.programmes.files import text_of
from training.log import writing as log
from training.people.models import Member, Organisation, User
from training.standing.importing import import_programme


class Command(BaseCommand):
    help = "Start an organisation: its first administrator, and a programme file published from a day on."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("title", help="the organisation's name")
        parser.add_argument("--kind", choices=Organisation.Kind.values, required=True)
        parser.add_argument("--zone", required=True, help="its time zone, such as Europe/Oslo")
        parser.add_argument("--administrator", required=True, help="user name or e-mail of the first administrator")
        parser.add_argument("--full-name", required=True, help="and their full name")
        parser.add_argument("--programme", type=Path, required=True, help="a programme file, such as one of fixtures/")
        parser.add_argument(
            "--first-day", type=date.fromisoformat, required=True, help="the day it comes into force: tomorrow or later"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        password = self._password()
        try:
            file = read_file(text_of(options["programme"]), from_day=options["first_day"])
            with transaction.atomic():
                member = self._start(options, password)
                import_programme(organisation=member.organisation, file=file, at=timezone.now())
        except OSError as error:
            raise CommandError(f"The programme file cannot be read: {error}") from error
        except (RefusedError, ValidationError) as error:
            raise CommandError(str(error)) from error
        self.stdout.write(f"{member.organisation} is there. {member.user.username} signs in and adds members.")

    def _password(self) -> str:
        """Asked for at a terminal; else the first line of standard input, never an argument."""
        password = getpass.getpass("Password: ") if sys.stdin.isatty() else sys.stdin.readline().rstrip("\n")
        try:
            validate_password(password)
        except ValidationError as error:
            raise CommandError(" ".join(error.messages)) from error
        return password

    def _start(self, options: dict[str, Any], password: str) -> Member:
        organisation = Organisation(title=options["title"], kind=options["kind"], time_zone=options["zone"])
        organisation.full_clean()
        organisation.save()
        user = User(username=options["administrator"], full_name=options["full_name"])
        user.set_password(password)
        user.full_clean(exclude=["last_login"])
        user.save()
        today = timezone.localdate()
        member = Member.objects.create(
            organisation=organisation, user=user, role=Member.Role.ADMINISTRATOR, from_day=today
        )
        words = {"member": member.signed_name, "role": member.role}
        log.deed(organisation=organisation, what="member-added", by=log.THE_SITE, at=timezone.now(), **words)
        return member
