"""The one place that asks what day it is; actions and queries take the day as an argument below this."""

from datetime import date, datetime

from django.utils import timezone


def now() -> datetime:
    """This moment, aware."""
    return timezone.now()


def today() -> date:
    """Today's date in the archive's time zone."""
    return timezone.localdate()
