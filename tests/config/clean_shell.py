"""Python started in the project from a shell that has set nothing but what a test names."""

import os
import secrets
import subprocess
import sys
from pathlib import Path

PROJECT = Path(__file__).resolve().parent.parent.parent
KEY = secrets.token_urlsafe(50)
NOWHERE = "postgres://nobody@/none?host=/nonexistent"


def run(*words: str, **variables: str) -> subprocess.CompletedProcess[str]:
    """Run Python in the project with these variables alone."""
    environment = {"PATH": os.environ["PATH"], "DJANGO_SETTINGS_MODULE": "config.settings", **variables}
    command = [sys.executable, *words]
    return subprocess.run(command, cwd=PROJECT, env=environment, capture_output=True, text=True, check=False)
