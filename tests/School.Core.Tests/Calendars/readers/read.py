"""Reads every .ics file of a folder with Debian's python3-icalendar and prints what it understood as JSON."""
import json
import pathlib
import sys

import icalendar


def seconds(value, zone):
    """A local time is placed by the calendar's own VTIMEZONE, not by the zone of the same name that the library knows."""
    if str(value.tzinfo) != "UTC":
        value = zone.localize(value.replace(tzinfo=None), is_dst=None)
    return int(value.timestamp())


def event(component, zone):
    return {
        "uid": str(component["UID"]),
        "start": seconds(component.decoded("DTSTART"), zone),
        "end": seconds(component.decoded("DTEND"), zone),
        "status": str(component["STATUS"]),
        "summary": str(component["SUMMARY"]),
    }


def calendar(path):
    parsed = icalendar.Calendar.from_ical(path.read_bytes())
    (zone,) = [part.to_tz() for part in parsed.walk("VTIMEZONE")]
    return [event(part, zone) for part in parsed.walk("VEVENT")]


json.dump({path.name: calendar(path) for path in pathlib.Path(sys.argv[1]).glob("*.ics")}, sys.stdout)
