"""Photos and papers of a variance, on the form that asks for it and on one of their own."""

from typing import Any

from django import forms
from django.contrib.auth.models import AbstractBaseUser

from conflicts.desk.variance_evidence import keep_papers
from conflicts.models import Variance
from locates.forms.papers_field import PapersField
from locates.forms.photos_field import PhotosMixin


class EvidenceMixin(PhotosMixin):
    """A form that brings photos and papers of a variance; its page has room for both."""

    papers = PapersField(required=False)

    def keep_evidence(self, variance: Variance, *, by: AbstractBaseUser) -> None:
        """Store what a valid form brought with a stored variance whose job is held.

        Raises `PhotoError`, `PaperError` and ``RetiredMeanwhileError``.
        """
        self.keep_photos(variance, by=by)
        keep_papers(variance, self.cleaned_data["papers"], by=by)


class EvidenceForm(EvidenceMixin):
    """Photos and papers alone."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, label_suffix="", **kwargs)

    def clean(self) -> dict[str, Any]:
        """Ask for one of them at least."""
        cleaned = super().clean() or self.cleaned_data
        if not self.errors and not cleaned["photos"] and not cleaned["papers"]:
            raise forms.ValidationError("Choose a photo or a paper: none came with the form.")
        return cleaned
