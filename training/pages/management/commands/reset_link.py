"""For who runs the site: a link to set a new password, where no administrator can give one."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import transaction

from training.log.coming import own_account
from training.log.writing import THE_SITE
from training.pages.entry import gate, second_factor
from training.pages.entry.reset import address_for
from training.people.models import User


class Command(BaseCommand):
    help = (
        "Print the address at which the holder of an account sets a new password. It works once, for a day. Also lifts "
        "the lock after wrong tries. Make sure first who asks."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("username")
        parser.add_argument("--second-factor-off", action="store_true", help="also take the lost second factor off")

    @transaction.atomic
    def handle(self, *args: Any, **options: Any) -> None:
        try:
            user = User.objects.get_by_natural_key(options["username"])
        except User.DoesNotExist as missing:
            raise CommandError("There is no account of this name.") from missing
        if not user.is_active:
            raise CommandError("This account is closed. An administrator opens it again first.")
        if options["second_factor_off"]:
            second_factor.turn_off(user)
        gate.forget_wrong(username=user.username)
        what = "reset-link-factor-off" if options["second_factor_off"] else "reset-link"
        own_account(user, what, by=THE_SITE)
        self.stdout.write(f"After the name of the site: {address_for(user)}")
