#!/usr/bin/env python3
"""The one door to every command. A wrong setting is told in one line, never as a traceback."""

import os
import sys


def main() -> int:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "archive_site.settings")
    try:
        from django.core.exceptions import ImproperlyConfigured
        from django.core.management import execute_from_command_line
        from django.db import OperationalError
    except ImportError as missing:
        print(f"Wrapkeep cannot start: {missing}. Install it first, see README.md.", file=sys.stderr)
        return 2
    try:
        execute_from_command_line(sys.argv)
    except ImproperlyConfigured as wrong:
        print(f"Wrapkeep cannot start: {wrong}", file=sys.stderr)
        return 2
    except OperationalError as silent:
        # The first line says what is wrong (refused, wrong password, disk full); the rest repeats it.
        line = (str(silent).strip().splitlines() or ["no reason given"])[0]
        print(f"The database did not answer: {line}", file=sys.stderr)
        return 3
    return 0


if __name__ == "__main__":
    sys.exit(main())
