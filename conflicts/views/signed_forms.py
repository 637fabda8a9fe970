"""What every page with a form that signs does alike: the id that a form carries, and its errors."""

from collections.abc import Callable
from datetime import datetime
from uuid import UUID, uuid4

from django import forms
from django.db.models import Model
from django.http import HttpRequest

from conflicts.bore_states import BoreState, computed_states
from conflicts.engine.errors import EngineError
from conflicts.errors import AskedError, ConflictsError, NothingShownError, ReleaseHeldError
from conflicts.models import Bore
from conflicts.models.signed import SignedRecord
from locates.errors import RetiredMeanwhileError
from locates.exchange.paper_guard import PaperError
from locates.exchange.photo_guard import PhotoError
from locates.forms.photos_field import words_of
from locates.forms.response_paper import words_of as words_of_paper


def new_id(request: HttpRequest, kind: type[SignedRecord], **home: Model) -> UUID:
    """The id that a form was shown with, so that one that is sent twice is stored once.

    Where a record of another home has it already, the form gets an id of its own: what it holds is stored,
    and nobody learns that there is such a record elsewhere.
    """
    try:
        sent = UUID(request.POST.get("new_id", ""))
    except ValueError:
        return uuid4()
    return uuid4() if kind.objects.filter(pk=sent).exclude(**home).exists() else sent


def state_of_form(bore: Bore, at: datetime) -> BoreState:
    """How a bore stands, computed there and then: neither a form nor what was typed waits for a worker."""
    return computed_states([bore], at)[0]


def is_sent_whole(request: HttpRequest, form: forms.BaseForm, *, field: str, shown: object) -> bool:
    """Whether a form was sent, is valid, and says what its page showed, read from a hidden field.

    Without it nobody knows what the person signs, so that is told beside all else that is wrong.
    """
    if request.method != "POST":
        return False
    if not shown:
        form.add_error(None, str(NothingShownError(field, request.POST.get(field, "").strip())))
    return form.is_valid()


def signs(form: forms.BaseForm, sign: Callable[[], object]) -> bool:
    """Whether a valid form could be signed; what refused it stands over the form, and nothing is lost.

    Raises `AskedError`: what is asked before figures are kept is shown by the page that has them.
    """
    try:
        sign()
    except AskedError:
        raise
    except ReleaseHeldError as error:
        for sentence in error.sentences:
            form.add_error(None, sentence)
    except (ConflictsError, EngineError, RetiredMeanwhileError) as error:
        form.add_error(None, f"{str(error).rstrip('.')}.")
    except PhotoError as error:
        form.add_error(None, words_of(error))
    except PaperError as error:
        form.add_error(None, words_of_paper(error))
    else:
        return True
    return False
