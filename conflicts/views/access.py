"""Who may open the pages: a login is asked of everybody before, a role here."""

from django.contrib.auth.decorators import permission_required

may_view = permission_required(("locates.view_job", "conflicts.view_bore"), raise_exception=True)
