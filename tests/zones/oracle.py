"""Resolves wall times with Python's zoneinfo and the PyPI package tzdata.

Prints the IANA release first. Then, for every line of standard input,

    <zone>TAB<wall time, YYYY-MM-DDTHH:MM:SS>

prints two instants in seconds since 1970-01-01T00:00:00Z: the wall time read
with fold=0 and with fold=1 (PEP 495). They are equal where the wall time comes
once; in a fold the first is the earlier one; in a gap the first is read with
the offset before the gap, and so is the later one.

Where the clock shows the wall time at one of the two instants only, that one is
printed twice: zoneinfo takes 2023-10-28T23:00 to 23:59 in America/Nuuk for a
fold, though its own way back from the instant says otherwise.
"""

import sys

try:
    import tzdata
    import zoneinfo
    from datetime import datetime
except ImportError as missing:
    sys.exit(f"oracle.py: {missing}; it needs Python 3.9 and the package tzdata")

# Only the package: the machine's own copy may be of another release.
zoneinfo.reset_tzpath(to=[])

print(tzdata.IANA_VERSION)
for line in sys.stdin:
    name, wall = line.rstrip("\n").split("\t")
    zone, shown = zoneinfo.ZoneInfo(name), datetime.fromisoformat(wall)
    read = [
        int(shown.replace(tzinfo=zone, fold=fold).timestamp()) for fold in (0, 1)
    ]
    true = [
        at for at in read if datetime.fromtimestamp(at, zone).replace(tzinfo=None, fold=0) == shown
    ]
    if len(true) == 1:
        read = true * 2
    print(*read)
