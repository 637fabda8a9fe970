"""Who may open the pages: a login is asked of everybody before, a role here; and the bore that one is of."""

from uuid import UUID

from django.contrib.auth.decorators import permission_required
from django.shortcuts import get_object_or_404

from conflicts.models import Bore

may_view = permission_required(("locates.view_job", "conflicts.view_bore"), raise_exception=True)


def bore_or_404(bore_id: UUID) -> Bore:
    """The bore of a page, with its job and the rule of the place."""
    return get_object_or_404(Bore.objects.select_related("job__jurisdiction"), pk=bore_id)
