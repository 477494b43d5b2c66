"""``python -m tests.bench [--only NAME] [--frames N] [--json]``: each bench, its baseline, whether its bar is met.

On SQLite, or on PostgreSQL where DATABASE_URL and OWNER_DATABASE_URL name one; always in a database of its own.
"""

import os
import sys
import tempfile
from pathlib import Path

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "plant.settings")
django.setup()

from django.conf import settings  # noqa: E402
from django.test import override_settings  # noqa: E402

from tests import engines, shelf  # noqa: E402
from tests.bench.running import as_json, as_table, chosen, measured, together  # noqa: E402


def settings_of(folder: Path) -> override_settings:
    """A key of its own, and pages whose pictures and scripts need not have been collected."""
    plain_files = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
    storages = settings.STORAGES | {"staticfiles": plain_files}
    return override_settings(SIGNING_KEY_FILE=folder / "key.pem", STORAGES=storages)


def main(argv: list[str]) -> int:
    """Run the benches asked for; 1 where one falls short."""
    asked = chosen(argv)
    rows = []
    for names in together(asked.names):
        shelf.clear()  # each group has a database of its own
        with (
            tempfile.TemporaryDirectory(prefix="bench-") as folder,
            settings_of(Path(folder)),
            engines.database(Path(folder), "bench"),
        ):
            for name in names:
                sys.stderr.write(f"{name} ...\n")
                rows += measured(name, tiny=asked.tiny, frames=asked.frames)
    print(as_json(rows) if asked.json else as_table(rows))
    return int(any(row.verdict != "holds" for row in rows))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
