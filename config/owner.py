"""Two names for one database: the owner of the tables changes them, the site's own role only uses them.

Standard library alone.
"""

from collections.abc import MutableMapping

OWNER, SITE, SERVED = "OWNER_DATABASE_URL", "DATABASE_URL", "SERVING_DATABASE_URL"

# Django's commands that make or alter tables, or ask what became of that.
OWNER_COMMANDS = {
    "flush",
    "makemigrations",
    "migrate",
    "optimizemigration",
    "showmigrations",
    "sqlmigrate",
    "squashmigrations",
}


def ask_as_owner(command: str, environment: MutableMapping[str, str]) -> None:
    """Have a command that changes tables ask as their owner, where one is named besides the site's role.

    The site's own address stands in SERVING_DATABASE_URL then, so that its role is given its rights on what
    was made. Every other command forgets the owner's address.
    """
    owner = environment.pop(OWNER, "").strip()
    if owner and command in OWNER_COMMANDS:
        environment[SERVED] = environment.get(SITE, "")
        environment[SITE] = owner
