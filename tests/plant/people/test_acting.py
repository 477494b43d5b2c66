"""Forms that act: what is wrong is said with what to do, and what was typed is kept."""

from django import forms
from django.test import RequestFactory

from plant.people.acting import ActForm


class Told(ActForm):
    """A form with a field of each kind."""

    words = forms.CharField()
    choice = forms.ChoiceField(choices=[("a", "A")])
    count = forms.IntegerField(min_value=1)
    day = forms.DateField()
    own = forms.CharField(error_messages={"required": "Scan it."})


def sent(**told: str) -> Told:
    return Told(RequestFactory().post("/", told))


def test_a_field_left_empty_says_what_to_do_in_its_own_words_where_it_has_some():
    errors = sent().errors
    assert [errors[name][0] for name in ("words", "choice", "own")] == ["Fill this in.", "Choose one.", "Scan it."]


def test_what_is_no_number_and_no_day_is_told_and_stays_as_it_was_typed():
    form = sent(count="about ten", day="first of May")
    assert [form.errors[name][0] for name in ("count", "day")] == [
        "Write a whole number.",
        "This is no day: write 2026-12-31.",
    ]
    assert 'value="about ten"' in str(form["count"])
    assert 'type="text"' in str(form["count"])
