#!/usr/bin/env python
"""Entry point of all commands."""

import os
import sys

from django.conf import settings
from django.core.exceptions import ImproperlyConfigured
from django.core.management import execute_from_command_line


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "plant.settings")
    try:
        _ = settings.INSTALLED_APPS  # read now, so that a setting that is wrong is told in one sentence
    except ImproperlyConfigured as wrong:
        print(wrong, file=sys.stderr)
        sys.exit(2)
    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
