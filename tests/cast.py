"""The people of every test: one for each duty, and a stranger who is not signed in."""

from dataclasses import dataclass

from django.contrib.auth.models import Group

from catalog.access.duties import Duty
from catalog.access.models import User

PASSWORD = "lantern-oil-and-rope"


@dataclass(frozen=True, slots=True)
class Cast:
    """Who can sign in. Each has exactly the one duty of the name."""

    archivist: User
    wardrobe_lead: User
    production: User
    set_costumer: User
    visitor: User

    def of(self, duty: Duty) -> User:
        """The person with this duty."""
        user: User = getattr(self, duty.name.lower())
        return user

    def everyone(self) -> list[User]:
        return [self.of(duty) for duty in Duty]


def make_cast() -> Cast:
    """Create the five people (their groups stand since migrate)."""
    return Cast(**{duty.name.lower(): person(duty.name.lower(), duty) for duty in Duty})


def person(username: str, *duties: Duty) -> User:
    """A person with these duties and the tests' password."""
    user = User.objects.create_user(username=username, password=PASSWORD)
    user.groups.set(Group.objects.filter(name__in=[duty.value for duty in duties]))
    return user
