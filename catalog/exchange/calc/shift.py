"""Moving a table's dates by whole weeks, so that weekdays stay weekdays."""

from datetime import date, timedelta


def week_shift(anchor: date, today: date) -> int:
    """Days, a multiple of 7, that bring `anchor` into the week (Monday to Sunday) of `today`."""
    return (_monday(today) - _monday(anchor)).days


def _monday(day: date) -> date:
    return day - timedelta(days=day.weekday())
