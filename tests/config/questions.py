"""Questions to a private database, asked by its URL as any program would."""

import subprocess

from config.cluster import Cluster


def ask(cluster: Cluster, sql: str) -> str:
    """Give what the database answers."""
    done = subprocess.run(
        ["psql", "-X", "-A", "-t", "-c", sql, cluster.url], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()
