"""``python -m tests.bench [--only NAME] [--json]``: each bench against its baseline, and whether its bar is met.

On SQLite, or on PostgreSQL where DATABASE_URL and OWNER_DATABASE_URL name one; always in a database of its own.
"""

import os
import sys
import tempfile
from pathlib import Path

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "plant.settings")
django.setup()

from django.test import override_settings  # noqa: E402

from tests import engines  # noqa: E402
from tests.bench.running import as_json, as_table, chosen, measured  # noqa: E402


def main(argv: list[str]) -> int:
    """Run the benches asked for; 1 where one falls short."""
    asked = chosen(argv)
    rows = []
    for name in asked.names:
        with tempfile.TemporaryDirectory(prefix="bench-") as folder:
            sys.stderr.write(f"{name} ...\n")
            key = override_settings(SIGNING_KEY_FILE=Path(folder) / "key.pem")
            with key, engines.database(Path(folder), "bench"):
                rows += measured(name, tiny=asked.tiny)
    print(as_json(rows) if asked.json else as_table(rows))
    return int(any(row.verdict != "holds" for row in rows))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
