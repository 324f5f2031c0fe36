"""Prints every rule of PDF/A-3a (ISO 19005-3) and PDF/UA-1 (ISO 14289-1) that a paper breaks, a line each.

The rules are those of the library `page`, which its makers hold against the veraPDF corpus and the Isartor
test suite. Nothing printed: the paper breaks none.
"""

import sys

import page

for paper in sys.argv[1:]:
    for profile in ("3a", "ua1"):
        for failure in page.validate_pdf(paper, profile=profile).failures:
            print(f"{profile}: {failure.rule_id}: {failure.message}")
