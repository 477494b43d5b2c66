"""The table of GS1 application identifiers that the tablet reads by, made from the reference library's own table."""

from __future__ import annotations

from collections import defaultdict

from biip.gs1_application_identifiers import _GS1_APPLICATION_IDENTIFIERS as KNOWN
from biip.gs1_digital_link_uris import _PRIMARY_IDENTIFIER_MAP as KEYS

HEAD = """\
// What may stand behind each GS1 application identifier: patterns, then the identifiers that each is for; and the keys
// of a Digital Link with their qualifiers and widths. Taken from the tables of biip 5.2.0 (Apache-2.0), which follow
// GS1's own list; tests/plant/ais_of.py makes this file anew.
"""


def script() -> str:
    """The module of the floor that holds the table: identifiers that follow each other stand as a stretch."""
    by_pattern: dict[str, list[str]] = defaultdict(list)
    for ai in KNOWN.values():
        by_pattern[ai.pattern.removeprefix(f"^{ai.ai}").removesuffix("$")].append(ai.ai)
    rows = [f'  [String.raw`{body}`, "{" ".join(_stretches(ais))}"],\n' for body, ais in by_pattern.items()]
    keys = [
        f'  "{name}": [{key.zfill_to_width or 0}, "{" ".join(one.ai.ai for one in key.qualifiers)}"],\n'
        for name, key in KEYS.items()
    ]
    return f"{HEAD}export const PATTERNS = [\n{''.join(rows)}];\nexport const KEYS = {{\n{''.join(keys)}}};\n"


def _stretches(ais: list[str]) -> list[str]:
    told: list[list[str]] = []
    for ai in ais:
        if told and len(told[-1][-1]) == len(ai) and int(ai) == int(told[-1][-1]) + 1:
            told[-1].append(ai)
        else:
            told.append([ai])
    return [run[0] if len(run) == 1 else f"{run[0]}-{run[-1]}" for run in told]


if __name__ == "__main__":
    print(script(), end="")
