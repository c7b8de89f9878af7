"""Dates as people say them: 14 May 2026. Typed dates are ISO, as the date field of a browser sends them."""

DATE_FORMAT = "j F Y"
SHORT_DATE_FORMAT = "j M Y"
DATETIME_FORMAT = "j F Y, H:i"
TIME_FORMAT = "H:i"
DATE_INPUT_FORMATS = ["%Y-%m-%d"]
TIME_INPUT_FORMATS = ["%H:%M", "%H:%M:%S"]
DATETIME_INPUT_FORMATS = ["%Y-%m-%dT%H:%M", "%Y-%m-%d %H:%M"]
