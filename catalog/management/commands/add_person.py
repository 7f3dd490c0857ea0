"""`add_person NAME --duty DUTY`: make a login, or give one other duties and a new password."""

import secrets
from typing import Any

from django.contrib.auth.models import Group
from django.contrib.auth.validators import UnicodeUsernameValidator
from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import transaction

from catalog.access.duties import Duty
from catalog.access.models import User


class Command(BaseCommand):
    help = "Make a login with duties and a random password, printed once; a login that stands gets both anew."

    def add_arguments(self, parser: CommandParser) -> None:
        duties = [duty.value for duty in Duty]
        parser.add_argument("name", help="the name to sign in with")
        parser.add_argument("--duty", action="append", choices=duties, help="may be given several times")
        parser.add_argument("--close", action="store_true", help="close the login instead; its history stays")

    @transaction.atomic
    def handle(self, *args: Any, **options: Any) -> None:
        name = options["name"].strip()
        try:
            UnicodeUsernameValidator()(name)
        except ValidationError as wrong:
            raise CommandError(f"“{name}” cannot be a login: {' '.join(wrong.messages)}") from wrong
        user = User.objects.filter(username__iexact=name).first()
        if options["close"]:
            self._close(user, name)
            return
        if not options["duty"]:
            raise CommandError("Give at least one --duty.")
        user = user or User(username=name)
        password = secrets.token_urlsafe(12)
        user.set_password(password)
        user.is_active = True
        user.save()
        user.groups.set(Group.objects.filter(name__in=options["duty"]))
        self.stdout.write(f"{user.username}, {', '.join(options['duty'])}. Password, shown this once: {password}")

    def _close(self, user: User | None, name: str) -> None:
        if user is None:
            raise CommandError(f"There is no login {name}.")
        user.is_active = False
        user.set_unusable_password()
        user.save()
        self.stdout.write(f"{user.username} can no longer sign in.")
