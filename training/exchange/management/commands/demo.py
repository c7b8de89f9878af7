"""``manage.py demo``: invented organisations and families on this machine, their log-ins, and the site."""

from __future__ import annotations

import socket
import sys
from io import TextIOWrapper
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import connection
from django.utils import timezone

from training.exchange.demo.finding import is_here, log_ins, made_on, what_is_real
from training.exchange.demo.loading import DemoError, load, sheets
from training.exchange.demo.people import organisations
from training.people.models import Organisation
from training.standing.questions import written
from training.tenancy.roles import become_the_site

HOST = "127.0.0.1"


class Command(BaseCommand):
    help = (
        "Loads two invented organisations and their families, prints the log-ins and serves the site on this machine. "
        "Refuses in a database that holds real records. Running it again loads nothing twice."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--port", type=int, default=8000, help="where to serve (default: 8000)")
        parser.add_argument("--no-serve", action="store_true", help="only load and print the log-ins")

    def handle(self, *args: Any, port: int, no_serve: bool, **options: Any) -> None:
        if isinstance(sys.stdout, TextIOWrapper):
            sys.stdout.reconfigure(errors="replace")  # some names here are beyond a plain terminal's letters
        _refuse_in_the_wrong_place()
        if not no_serve:
            _refuse_what_cannot_be_served(port)
        if is_here():
            self.stdout.write(f"The demo is here already, dated from {written(made_on())}. Nothing was loaded.")
            self.stdout.write("For a fresh one, run it on an empty database.")
        else:
            self._load()
        self._print_families()
        self._print_log_ins()
        if not no_serve:
            self._serve(port)

    def _load(self) -> None:
        self.stdout.write("Loading the demo; it takes up to a minute.")
        now = timezone.now()
        try:
            found = load(now, sheets(), self._progress)
        except DemoError as error:
            raise CommandError(f"{error}\nNothing was loaded.") from error
        seconds = (timezone.now() - now).total_seconds()
        self.stdout.write(
            f"Loaded {len(found)} families in {seconds:.0f} s. Everybody and everything in it is invented."
        )

    def _progress(self, line: str) -> None:
        self.stdout.write(f"  {line}")
        self.stdout.flush()

    def _print_families(self) -> None:
        self.stdout.write("\nThe families, and what each shows; begin with the first:")
        for sheet in sheets():
            self.stdout.write(f"  {sheet.about['name']}: {sheet.about['shows']}")

    def _print_log_ins(self) -> None:
        password = organisations()["password"]
        rows = [("user name", "password", "who", "what they see")]
        rows += [(one.username, password, one.who, one.sees) for one in log_ins(sheets())]
        widths = [max(len(row[i]) for row in rows) for i in range(3)]
        self.stdout.write("\nLog-ins:")
        for row in rows:
            cells = [cell.ljust(width) for cell, width in zip(row, widths, strict=False)]
            self.stdout.write("  " + "  ".join([*cells, row[3]]))

    def _serve(self, port: int) -> None:
        self.stdout.write(f"\nOpen http://{HOST}:{port}/ and sign in. Stop with Ctrl+C.\n")
        self.stdout.flush()
        become_the_site()  # loaded by the owner, served by the site's role, where these are two
        call_command("runserver", f"{HOST}:{port}", use_reloader=False)


def _refuse_in_the_wrong_place() -> None:
    if Organisation._meta.db_table not in connection.introspection.table_names():
        raise CommandError("This database has no tables yet. Run `manage.py migrate` first.")
    real = what_is_real()
    if real:
        raise CommandError(
            f"This database holds what is not the demo's: {', '.join(real)}. The demo was not loaded and nothing was "
            "changed. Set DATABASE_URL to an empty database, such as sqlite:///demo.sqlite3 with an absolute path, run "
            "`manage.py migrate`, then this command again."
        )


def _refuse_what_cannot_be_served(port: int) -> None:
    if not settings.DEBUG:
        raise CommandError("With DEBUG=no the site asks for https. Set DEBUG=yes, or load only with --no-serve.")
    with socket.socket() as there:
        there.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            there.bind((HOST, port))
        except (OSError, OverflowError) as error:
            raise CommandError(f"Port {port} cannot be used here. Choose another, such as --port 8321.") from error
