"""`hash_pictures`: work out what stored pictures look like, for those stored before this was done on upload."""

from typing import Any

from django.core.management.base import BaseCommand

from catalog.core.pictures import hash_stored


class Command(BaseCommand):
    help = "Fill in the look of every stored picture that has none. May be broken off and run again."

    def handle(self, *args: Any, **options: Any) -> None:
        done, broken = hash_stored(lambda number: self.stderr.write(f"{number} pictures so far"))
        word = "picture" if done == 1 else "pictures"
        self.stdout.write(f"{done} {word} hashed, {broken} could not be read.")
