"""A search and the lists of tickets give a stranger, of another company or none, the question back alone."""

import re

from django.http import HttpResponse
from django.urls import reverse

from tests.companies import THEIRS, TwoCompanies, client_of
from tests.factories import person_in_role

UNHEARD_OF = "Zylophyzze"
"""A word of nobody's, as long as theirs."""

LISTS = ("conflicts:search", "locates:board", "locates:board-tickets")


def asked_for(word: str, person, name: str) -> HttpResponse:
    """The page of a list that was asked for a word."""
    answer = client_of(person).get(reverse(name), {"q": word})
    assert answer.status_code == 200
    return answer


def found_in(answer: HttpResponse) -> list:
    """What a page was given to show."""
    context = answer.context
    return list(context["lists"]) if "lists" in context else list(context["page"].rows)


def said_in(answer: HttpResponse, word: str) -> str:
    """All that stands on a page about a question, but for the word, the page's own secret and its moment."""
    page = answer.content.decode()
    main = page[page.index("<main") : page.index("</main>")].replace(word, "WORD")
    return re.sub(r'name="csrfmiddlewaretoken" value="[^"]*"|<time.*?</time>', "", main)


class TestAskedWords(TwoCompanies):
    def test_the_company_s_own_people_find_its_records_by_the_word(self):
        assert len(UNHEARD_OF) == len(THEIRS)
        for role, person in self.theirs.people.items():
            for name in LISTS:
                answer = asked_for(THEIRS, person, name)
                assert found_in(answer), (role, name)
                assert f"{THEIRS}-1" in answer.content.decode(), (role, name)
                assert found_in(asked_for(UNHEARD_OF, person, name)) == [], (role, name)

    def test_to_a_stranger_it_is_a_word_like_one_that_nobody_has(self):
        strangers = {
            **self.ours.people,
            "a coordinator of no company": person_in_role("Coordinator", membership=None),
            "a superuser of no company": person_in_role("Coordinator", membership=None, is_superuser=True),
        }
        for who, person in strangers.items():
            for name in LISTS:
                answer, nothing = (asked_for(word, person, name) for word in (THEIRS, UNHEARD_OF))
                assert found_in(answer) == [], (who, name)
                assert said_in(answer, THEIRS) == said_in(nothing, UNHEARD_OF), (who, name)
