"""The three roles, as groups whose permissions the migrations grant."""

from collections.abc import Iterable, Mapping

from django.contrib.auth.management import create_permissions

COORDINATOR = "Coordinator"
FOREMAN = "Foreman"
SAFETY_MANAGER = "Safety manager"
ROLES = (COORDINATOR, FOREMAN, SAFETY_MANAGER)


def grant(
    apps,
    schema_editor,
    app_label: str,
    may_write: Mapping[str, Iterable[str]],
    may_add: Mapping[str, Iterable[str]] | None = None,
) -> None:
    """Let every role view all records of an app, and each role add and change the records named for it.

    Parameters
    ----------
    apps, schema_editor
        What a migration's function is given.
    app_label : str
        The app whose records they are.
    may_write : mapping of role to model names
        Model names in small letters; deleting is granted to nobody.
    may_add : mapping of role to model names, optional
        Records that are signed: added, and never changed after.
    """
    database = schema_editor.connection.alias
    app_config = apps.get_app_config(app_label)
    # Django makes permissions after the last migration; here they are needed before. It passes by an app
    # whose models_module is None, which it is in a migration's registry.
    app_config.models_module = True
    create_permissions(app_config, verbosity=0, using=database, apps=apps)
    app_config.models_module = None

    permissions = apps.get_model("auth", "Permission").objects.using(database)
    of_the_app = permissions.filter(content_type__app_label=app_label)
    groups = apps.get_model("auth", "Group").objects.using(database)
    for role in ROLES:
        written = may_write.get(role, ())
        codenames = [f"{action}_{model}" for model in written for action in ("add", "change")]
        codenames += [f"add_{model}" for model in (may_add or {}).get(role, ())]
        group, _ = groups.get_or_create(name=role)
        group.permissions.add(
            *of_the_app.filter(codename__startswith="view_"), *of_the_app.filter(codename__in=codenames)
        )


def take_back(apps, schema_editor, app_label: str) -> None:
    """Take from the roles what `grant` gave them in an app, and drop a role that may then do nothing."""
    groups = apps.get_model("auth", "Group").objects.using(schema_editor.connection.alias)
    for group in groups.filter(name__in=ROLES):
        group.permissions.remove(*group.permissions.filter(content_type__app_label=app_label))
        if not group.permissions.exists():
            group.delete()
