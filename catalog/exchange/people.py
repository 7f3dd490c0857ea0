"""Who loads when nobody is signed in: the person at the keyboard of the machine itself."""

from django.contrib.auth.models import Group

from catalog.access.duties import Duty
from catalog.access.models import User

USERNAME = "command-line"


def at_the_keyboard() -> User:
    """The account that stands for commands in the history. It has no password and cannot sign in."""
    user, made = User.objects.get_or_create(username=USERNAME, defaults={"is_active": False})
    if made:
        user.set_unusable_password()
        user.save(update_fields=["password"])
        user.groups.set(Group.objects.filter(name__in=[Duty.ARCHIVIST.value, Duty.WARDROBE_LEAD.value]))
    return user
