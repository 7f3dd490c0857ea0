"""Who signs in."""

from django.contrib.auth.models import AbstractUser
from django.db import models

__all__ = ["User"]


class UserUnits(models.TextChoices):
    """Units of a user."""

    METRIC = "metric", "cm and kg"
    INCHES = "inches", "inches and pounds"


class User(AbstractUser):
    """A person with a login. Duties are groups (see duties.py); units are how this reader likes to read."""

    Units = UserUnits
    units = models.CharField(max_length=8, choices=Units.choices, default=Units.METRIC)

    class Meta(AbstractUser.Meta):
        swappable = "AUTH_USER_MODEL"

    def __str__(self) -> str:
        return self.get_full_name() or self.get_username()
