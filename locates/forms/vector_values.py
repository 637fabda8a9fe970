"""The third step of an import: what the file's words mean where a record takes listed ones."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from django import forms
from django.forms import BoundField

from locates.exchange.vector_kinds import VectorField, VectorKind
from locates.exchange.vector_mapping import Mapping, guessed_value
from locates.forms.vector_columns import NOT_CHOSEN
from locates.models import FacilityType, LineworkType

_NEW_OPERATOR = "new operator"
_WORDS = {**dict(FacilityType.choices), **dict(LineworkType.choices)}


class ValuesForm(forms.Form):
    """A choice for every different value."""

    def __init__(
        self,
        *args: Any,
        kind: VectorKind,
        mapping: Mapping,
        found: dict[str, list[str]],
        operators: list[str],
        may_add_operators: bool,
        **kwargs: Any,
    ) -> None:
        self.kind, self.mapping, self.found = kind, mapping, found
        super().__init__(*args, **kwargs)
        for name, texts in found.items():
            one = kind.field(name)
            for number, text in enumerate(texts):
                meant = mapping.values.get(name, {}).get(text) or guessed_value(one, text, operators)
                self.fields[f"{name}-{number}"] = forms.ChoiceField(
                    label=f"“{text}” means",
                    choices=_choices(one, text, operators, may_add_operators=may_add_operators),
                    initial=_chosen(one, meant, operators),
                )

    @property
    def groups(self) -> Iterator[tuple[VectorField, list[BoundField]]]:
        """Controls by field."""
        for name, texts in self.found.items():
            yield self.kind.field(name), [self[f"{name}-{number}"] for number in range(len(texts))]

    def confirmed(self) -> Mapping:
        """The mapping with the meanings of valid data."""
        values = {
            name: {
                text: _meant(text, self.cleaned_data[f"{name}-{number}"]) for number, text in enumerate(texts)
            }
            for name, texts in self.found.items()
        }
        return replace(self.mapping, values=values)


def _chosen(one: VectorField, meant: str, operators: list[str]) -> str:
    """The choice that stands for a meaning; an operator's name is marked, so that it is no other choice."""
    if one.type != "operator" or not meant:
        return meant
    return f"={meant}" if meant in operators else _NEW_OPERATOR


def _meant(text: str, chosen: str) -> str:
    return text if chosen == _NEW_OPERATOR else chosen.removeprefix("=")


def _choices(
    one: VectorField, text: str, operators: list[str], *, may_add_operators: bool
) -> list[tuple[str, str]]:
    if one.type == "flag":
        return [NOT_CHOSEN, ("yes", "yes"), ("no", "no")]
    if one.type == "choice":
        return [NOT_CHOSEN, *((choice, _WORDS.get(choice, choice)) for choice in one.choices)]
    listed = [(f"={name}", name) for name in operators]
    if may_add_operators and text not in operators:
        listed.append((_NEW_OPERATOR, f"a new operator, {text}"))
    return [NOT_CHOSEN, *listed]
