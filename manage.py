#!/usr/bin/env python3
"""The project's command line: `demo`, `test`, `database`, and all of Django's commands."""

import os
import sys

if __name__ == "__main__":
    if sys.version_info < (3, 11):  # noqa: UP036 - this line is for those who start it with an older one
        sys.exit("Crosswatch needs Python 3.11 or newer; this is " + sys.version.split()[0])
    from config.bootstrap import prepare

    prepare(sys.argv)  # comes back, inside the environment of packages, for Django's commands alone

    from django.core.exceptions import ImproperlyConfigured
    from django.core.management import execute_from_command_line

    from locates.acting import act_from

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    act_from(" ".join(["command", *sys.argv[1:2]]))  # Django's own commands do not say so
    try:
        execute_from_command_line(sys.argv)
    except ImproperlyConfigured as error:
        sys.exit(f"Not set up rightly: {error}")
