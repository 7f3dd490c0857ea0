"""How the house writes days and hours, and how they may be typed."""

DATE_FORMAT = "j M Y"
SHORT_DATE_FORMAT = "j M Y"
TIME_FORMAT = "H:i"
DATETIME_FORMAT = "j M Y, H:i"
SHORT_DATETIME_FORMAT = "j M Y, H:i"
DATE_INPUT_FORMATS = ["%Y-%m-%d", "%d %b %Y", "%d %B %Y", "%d/%m/%Y", "%d.%m.%Y"]
