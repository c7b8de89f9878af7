"""``manage.py database_roles``: the two roles on PostgreSQL, made and looked at."""

from __future__ import annotations

import getpass
import sys
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import Error, connection

from training.tenancy import policies, roles


class Command(BaseCommand):
    help = (
        "Make the role the site logs in as: it owns nothing and may not change or remove records. Run it as the owner "
        "of the tables. Without --create it only says what the role may do."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("role", nargs="?", default="", help="its name (default: the user of DATABASE_URL)")
        parser.add_argument("--create", action="store_true", help="make it if it is not there, and grant its rights")
        parser.add_argument("--sql", action="store_true", help="print what would be run, without the password")

    def handle(self, *args: Any, role: str, create: bool, sql: bool, **options: Any) -> None:
        if connection.vendor != "postgresql":
            raise CommandError("SQLite knows no roles. Set DATABASE_OWNER_URL to the owner's postgres:// address.")
        role = role or roles.site_role()
        if not role:
            raise CommandError("Name the role, or set DATABASE_URL to the site's address and DATABASE_OWNER_URL too.")
        if sql:
            return self._print(role)
        if create:
            self._create(role)
        return self._report(role)

    def _print(self, role: str) -> None:
        lines = [roles.creating(connection, role, "choose one"), *roles.granting(connection, role)]
        self.stdout.write("".join(f"{line};\n" for line in lines))

    def _create(self, role: str) -> None:
        try:
            if not roles.is_there(connection, role):
                with connection.cursor() as cursor:
                    cursor.execute(roles.creating(connection, role, _password(role)))
            policies.install(connection)
            roles.grant(connection, role)
        except Error as error:
            raise CommandError(f"{error}".strip()) from error

    def _report(self, role: str) -> None:
        wrong = roles.too_much(connection, role)
        wrong += [f"the policy {name} is not in place" for name in policies.missing(connection)]
        if wrong:
            raise CommandError(f"{role} is not fit to serve the site:\n" + "\n".join(f"  {said}" for said in wrong))
        self.stdout.write(f"{role} owns nothing, may not change or remove records, and every policy is in place.")


def _password(role: str) -> str:
    """Asked for at a terminal; else the first line of standard input, never an argument."""
    asked = getpass.getpass(f"Password for {role}: ") if sys.stdin.isatty() else sys.stdin.readline().rstrip("\n")
    if len(asked) < 10:
        raise CommandError("Give a password of ten characters or more.")
    return asked
