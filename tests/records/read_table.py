"""Reads a CSV file from standard input with Python's csv, strictly, and prints its rows as JSON objects, a line each."""

import csv
import io
import json
import sys

# As bytes: text mode would turn the line ends into others.
text = io.StringIO(sys.stdin.buffer.read().decode("utf-8"), newline="")
for row in csv.DictReader(text, strict=True):
    print(json.dumps(row))
