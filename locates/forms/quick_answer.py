"""An operator's answer in a few letters: first letters of the operator, one letter for the answer."""

from collections.abc import Sequence
from typing import Any
from uuid import uuid4

from django import forms
from django.core.exceptions import ValidationError

from locates.answers import letters_of, meant_answer, meant_operator
from locates.errors import AnswerError
from locates.models import FacilityOperator, ResponseKind

ANSWERS = dict(ResponseKind.choices)
PAGES = (("ticket", "ticket"), ("responses", "responses"))


class QuickAnswerForm(forms.Form):
    """Operator and answer as somebody types them without looking up.

    ``new_id`` is the id that the answer gets, so that one sent twice is stored once; ``page`` is the page to
    come back to.
    """

    operator = forms.CharField(
        label="First letters of the operator",
        widget=forms.TextInput(attrs={"list": "quick-operators", "autocomplete": "off"}),
    )
    response = forms.CharField(
        label="Letter of the answer",
        help_text=f"Type {letters_of(ANSWERS)}, then Enter.",
        widget=forms.TextInput(
            attrs={"autocomplete": "off", "autocapitalize": "off", "size": "3", "accesskey": "a"}
        ),
    )
    new_id = forms.UUIDField(widget=forms.HiddenInput)
    page = forms.ChoiceField(choices=PAGES, widget=forms.HiddenInput)

    def __init__(self, *args: Any, operators: Sequence[FacilityOperator], **kwargs: Any) -> None:
        kwargs = {"label_suffix": "", "auto_id": "quick_%s"} | kwargs
        super().__init__(*args, **kwargs)
        self.operators = operators

    def clean_operator(self) -> FacilityOperator:
        """The operator that the letters mean."""
        names = [one.name for one in self.operators]
        return self.operators[names.index(_read(meant_operator, self.cleaned_data["operator"], names))]

    def clean_response(self) -> str:
        """The answer that the letter means."""
        return _read(meant_answer, self.cleaned_data["response"], ANSWERS)

    def put_cursor(self) -> None:
        """Have the page open at the first field that is to be mended."""
        for name in ("operator", "response"):
            if name in self.errors:
                self.fields[name].widget.attrs["autofocus"] = True
                return


def quick_answer_form(
    operators: Sequence[FacilityOperator], next_operator: FacilityOperator | None, page: str, *, focus: bool
) -> QuickAnswerForm:
    """An empty form that names the operator whose answer is logged next; ``focus`` puts the cursor there."""
    form = QuickAnswerForm(
        operators=operators,
        initial={
            "operator": "" if next_operator is None else next_operator.name,
            "new_id": uuid4(),
            "page": page,
        },
    )
    if focus:
        wanted = "operator" if next_operator is None else "response"
        form.fields[wanted].widget.attrs["autofocus"] = True
    return form


def _read(meant: Any, text: str, choices: Any) -> Any:
    try:
        return meant(text, choices)
    except AnswerError as error:
        raise ValidationError(f"{str(error)[:1].upper()}{str(error)[1:]}.") from error
