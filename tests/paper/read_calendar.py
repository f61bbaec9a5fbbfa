"""Reads an iCalendar file from standard input with the PyPI package icalendar.

Prints for each event its start in seconds since 1970-01-01T00:00:00Z, resolved
by the VTIMEZONE of the file, a tab, its summary, and when its alarm rings.
"""

import sys

try:
    import icalendar
except ImportError as missing:
    sys.exit(f"read_calendar.py: {missing}; it needs the package icalendar")

calendar = icalendar.Calendar.from_ical(sys.stdin.buffer.read())
# By default the library would prefer the machine's own rules for a name it knows.
zones = {str(zone["TZID"]): zone.to_tz(lookup_tzid=False) for zone in calendar.walk("VTIMEZONE")}
for event in calendar.walk("VEVENT"):
    start = event["DTSTART"]
    zone = zones[start.params["TZID"]]
    wall = start.dt.replace(tzinfo=None)
    # pytz wants to be asked; other zones are taken as they are.
    at = zone.localize(wall, is_dst=None) if hasattr(zone, "localize") else wall.replace(tzinfo=zone)
    (alarm,) = event.walk("VALARM")
    rings = int(alarm["TRIGGER"].dt.total_seconds())
    print(f"{int(at.timestamp())}\t{event['SUMMARY']}, alarm {rings} s")
