"""Keep what the board shows under a name of one's own, or let go of it."""

from uuid import UUID

from django.contrib.auth import get_user_model
from django.contrib.auth.models import AbstractBaseUser
from django.core.exceptions import ValidationError
from django.db import transaction

from locates.errors import ViewError
from locates.models import BoardList, SavedView
from locates.models.saved_view import MOST_VIEWS


def keep_view(person: AbstractBaseUser, name: str, board_list: BoardList, query: str) -> SavedView:
    """Keep a view; raises `ViewError` where the person has one of the name, or as many as are kept."""
    view = SavedView(user=person, name=" ".join(name.split()), board_list=board_list, query=query)
    with transaction.atomic():
        # Whoever clicks twice keeps one view.
        get_user_model().objects.select_for_update().get(pk=person.pk)
        if SavedView.objects.filter(user=person).count() >= MOST_VIEWS:
            raise ViewError(
                f"Nothing is kept: found {MOST_VIEWS} views, and no more are kept. Let go of one."
            )
        try:
            view.full_clean()
        except ValidationError as error:
            raise ViewError(f"Nothing is kept. {' '.join(error.messages)}") from error
        view.save()
    return view


def let_go(person: AbstractBaseUser, view_id: UUID) -> str | None:
    """Let go of one of a person's views, and give its name; None where there is none."""
    view = SavedView.objects.filter(user=person, pk=view_id).first()
    if view is None:
        return None
    view.delete()
    return view.name
