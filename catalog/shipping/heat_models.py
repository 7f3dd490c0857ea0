"""Weather by the hour at the place of a call, and what each role wears there. Nobody's own body is in either."""

from django.db import models
from django.db.models import Q
from django.utils import timezone

from catalog.core import history
from catalog.core.fields import between, one_of
from catalog.loans.models import Call
from catalog.pieces.models import Role
from catalog.shipping.calc.heat_dress import CREATURE, LISTS, WORDS

__all__ = ["HeatDress", "WeatherHour"]

history.allow("call", ["weather_day", "hours", "source", "worn", "weight_g", "work", "used_to_heat"])


class Sky(models.TextChoices):
    """What stands above the place in an hour."""

    SUN = "sun", "full sun"
    PARTLY = "partly cloudy", "sun and cloud"
    SHADE = "shade", "shade by day"
    TIN_ROOF = "tin roof", "under a tin roof"
    LAMPS = "lamps", "indoors under lamps"
    INDOORS = "indoors", "indoors, nothing hot near"
    NIGHT = "night", "night"


class WeatherSource(models.TextChoices):
    """How an hour of weather came in."""

    ENTERED = "entered", "entered"
    PASTED = "pasted", "pasted"
    TABLE = "table", "from a table"


class WeatherHour(models.Model):
    """One hour of one day at the place of a call. What is not known is empty; an hour that nobody wrote has no row."""

    Sky = Sky
    Source = WeatherSource
    call = models.ForeignKey(Call, on_delete=models.PROTECT, related_name="weather_hours")
    day = models.DateField()
    hour = models.PositiveSmallIntegerField()
    temp_tenths_c = models.SmallIntegerField("air temperature", null=True, blank=True)
    rh_percent = models.PositiveSmallIntegerField("humidity", null=True, blank=True)
    sky = models.CharField(max_length=16, choices=Sky.choices, blank=True)
    wind_tenths_ms = models.PositiveSmallIntegerField("wind", null=True, blank=True)
    source = models.CharField(max_length=8, choices=WeatherSource.choices)
    said_by = models.CharField("who says so", max_length=120, blank=True)
    recorded_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["call", "day", "hour"]
        constraints = [
            models.UniqueConstraint(
                fields=["call", "day", "hour"],
                name="weatherhour_once",
                violation_error_message="This hour of this day is there already.",
            ),
            between("hour", 0, 23, "weatherhour_hour", "An hour lies between 0 and 23."),
            between(
                "temp_tenths_c", -500, 600, "weatherhour_temperature", "An air temperature lies between −50 and 60 °C."
            ),
            between("rh_percent", 0, 100, "weatherhour_humidity", "A humidity lies between 0 and 100 per cent."),
            between("wind_tenths_ms", 0, 900, "weatherhour_wind", "A wind lies between 0 and 90 m/s."),
            one_of("sky", Sky, "weatherhour_sky_known", blank=True),
            one_of("source", WeatherSource, "weatherhour_source_known"),
        ]

    def __str__(self) -> str:
        return f"{self.day} {self.hour:02d}:00"

    @property
    def temp_c(self) -> float | None:
        """In degrees Celsius."""
        return None if self.temp_tenths_c is None else self.temp_tenths_c / 10

    @property
    def wind_ms(self) -> float | None:
        """In metres a second."""
        return None if self.wind_tenths_ms is None else self.wind_tenths_ms / 10


class DressList(models.TextChoices):
    """The two published lists of what clothing adds; a call uses one of them."""

    ISO = "iso", "ISO 7243:2017, annex F"
    ACGIH = "acgih", "ACGIH, NIOSH and OSHA list"


class UsedToHeat(models.TextChoices):
    """How far the people of a role are used to the heat of the place."""

    NEW = "new", "new to the heat"
    RETURNING = "returning", "has done this work in heat before, but not lately"
    USED = "used", "used to this heat: at work in it for the last week or longer"


class WorkClass(models.TextChoices):
    """How hard the work is, without what is carried."""

    RESTING = "resting", "resting: sits or stands"
    LOW = "low", "low: stands and moves the arms, strolls"
    MODERATE = "moderate", "moderate: walks, lifts"
    HIGH = "high", "high: walks fast, climbs, hauls"
    VERY_HIGH = "very_high", "very high: runs, fights, swims"


def _of_its_list() -> Q:
    found = Q()
    for chosen in LISTS.values():
        found |= Q(dress_list=chosen.key, dress__in=[*sorted(chosen.adds), CREATURE])
    return found


class HeatDress(models.Model):
    """What a role wears in a call, by the row of a clothing list, its weight, and how hard the work is."""

    List = DressList
    Work = WorkClass
    Used = UsedToHeat
    call = models.ForeignKey(Call, on_delete=models.PROTECT, related_name="heat_dresses")
    role = models.ForeignKey(Role, on_delete=models.PROTECT, related_name="+")
    dress_list = models.CharField(max_length=8, choices=DressList.choices)
    dress = models.CharField("what is worn", max_length=40, choices=list(WORDS.items()))
    hood = models.BooleanField("hood or closed helmet", default=False)
    weight_g = models.PositiveIntegerField("weight worn and carried", null=True, blank=True)
    work = models.CharField("how hard the work is", max_length=12, choices=WorkClass.choices, blank=True)
    used = models.CharField("used to the heat", max_length=10, choices=UsedToHeat.choices, default=UsedToHeat.NEW)
    days_before = models.PositiveSmallIntegerField(
        "days at work in the heat before the first day", default=0, help_text="0: the first day of use is the first."
    )
    recorded_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["call", "role"]
        constraints = [
            models.UniqueConstraint(
                fields=["call", "role"],
                name="heatdress_role_once",
                violation_error_message="What this role wears is told already.",
            ),
            one_of("dress_list", DressList, "heatdress_list_known"),
            one_of("work", WorkClass, "heatdress_work_known", blank=True),
            one_of("used", UsedToHeat, "heatdress_used_known"),
            between("weight_g", 0, 100_000, "heatdress_weight", "What is worn and carried weighs at most 100 kg."),
            models.CheckConstraint(
                condition=_of_its_list(),
                name="heatdress_row_of_its_list",
                violation_error_message="That row is not in the chosen clothing list; the two lists are not mixed.",
            ),
            between("days_before", 0, 60, "heatdress_days", "Days in the heat before lie between 0 and 60."),
        ]

    def __str__(self) -> str:
        return f"{self.role} in {self.call}"
