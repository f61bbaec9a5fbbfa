"""Validates FHIR bundles, one JSON text a line on standard input, with the PyPI package fhir.resources
(classes of FHIR R4B; what the record uses of it is the same in R4).

It knows structure, types and cardinality, but no value sets. Prints a line for each: "ok", or what is wrong.
"""

import sys

try:
    from fhir.resources.R4B.bundle import Bundle
except ImportError as missing:
    sys.exit(f"validate.py: {missing}; it needs the package fhir.resources")

for line in sys.stdin:
    try:
        Bundle.model_validate_json(line)
        print("ok")
    except ValueError as wrong:
        print(" ".join(str(wrong).split()))
