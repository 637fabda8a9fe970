"""What somebody asks for."""

from django import forms

from conflicts.search import LEAST_LETTERS, MOST_LETTERS


class SearchForm(forms.Form):
    """A few letters of anything."""

    q = forms.CharField(
        min_length=LEAST_LETTERS,
        max_length=MOST_LETTERS,
        error_messages={
            "required": "Write what you look for first.",
            "min_length": f"Write at least {LEAST_LETTERS} letters or digits: one stands in almost all.",
            "max_length": f"Write at most {MOST_LETTERS} letters: a number or a few words are enough.",
            "null_characters_not_allowed": "Write letters and digits: it holds a sign that no record has.",
        },
    )
