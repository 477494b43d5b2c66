"""Pages of people, below Rulebook: who works here, somebody added, roles changed, a qualification given."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path

from plant.lists import list_page
from records.ledger.clock import clock

from .acting import ActForm
from .actions import add_person, change_roles, give_qualification, name_deputy
from .areas import in_area
from .badges import badge_of, password_of, person_here, pin_of
from .deputies import DECISIONS, deputies_on, may_decide
from .models import Deputy, Person
from .queries import people_here, works_day
from .rights import Role
from .tables import CHANGES, PersonFilter, PersonTable


class PersonForm(ActForm):
    """A person who may sign."""

    act = "person added"

    badge = forms.CharField(max_length=40, label="Badge", help_text="As printed on it.")
    name = forms.CharField(max_length=120, label="Name", help_text="Kept apart from the records; it can be erased.")
    roles = forms.MultipleChoiceField(choices=Role.choices, widget=forms.CheckboxSelectMultiple, label="Roles")
    password = forms.CharField(
        required=False, widget=forms.PasswordInput, label="Password", help_text="Empty: signs on the floor only."
    )


class RolesForm(ActForm):
    """The roles that a person is to hold."""

    act = "roles changed"

    roles = forms.MultipleChoiceField(
        choices=Role.choices, widget=forms.CheckboxSelectMultiple, label="Roles", required=False
    )

    def __init__(self, request: Any, person: Person) -> None:
        super().__init__(request, initial={"roles": sorted(person.roles)})


class QualificationForm(ActForm):
    """What a person may do alone."""

    act = "qualification given"

    what = forms.CharField(max_length=40, label="For what", help_text="An operation by its name, or a kind of gauge.")
    from_on = forms.DateField(label="From", help_text="As 2026-03-02.")
    until_on = forms.DateField(required=False, label="Last day")

    def told(self) -> dict[str, Any]:
        """What was told of it."""
        return {name: self.cleaned_data[name] for name in ("what", "from_on", "until_on")}


@in_area("Rulebook")
def person_list(request: HttpRequest) -> HttpResponse:
    """Who works here, with roles and qualifications; as a page or a file."""
    rows, asked = people_here(), PersonFilter(request.GET)
    may = any(request.user.may(act) for act in CHANGES)  # type: ignore[union-attr]  # nobody else is let in
    table = PersonTable(asked.kept(rows), exclude=() if may else ("change",))
    page = list_page(request, table, name="people", filtered=asked, total=len(rows))
    is_open = sum(row.stands == "open" for row in rows)
    context = {"list": page, "open": is_open, "closed": len(rows) - is_open}
    return page.file or render(request, "staff/person_list.html", context)


def person_add(request: HttpRequest) -> HttpResponse:
    """Add a person."""
    form = PersonForm(request)

    def add(said: Any) -> Person:
        told = form.cleaned_data
        return add_person(told["badge"], name=told["name"], roles=told["roles"], password=told["password"], said=said)

    if form.acted(add):
        messages.success(request, f"{form.made.name} may sign with badge {form.made.badge}.")
        return redirect("staff:person_list")
    return form.page("staff/person_form.html", {"finding": "Add a person", "press": "Add the person"})


def roles_change(request: HttpRequest, number: int) -> HttpResponse:
    """Give and take roles."""
    person = person_here(number)
    form = RolesForm(request, person)
    if form.acted(lambda said: change_roles(person, roles=form.cleaned_data["roles"], said=said)):
        messages.success(request, f"The roles of {person.name} are changed.")
        return redirect("staff:person_list")
    return form.page("staff/person_form.html", {"finding": f"Roles of {person.name}", "press": "Change the roles"})


def qualification_give(request: HttpRequest, number: int) -> HttpResponse:
    """Note what a person may do alone."""
    person = person_here(number)
    form = QualificationForm(request)
    if form.acted(lambda said: give_qualification(person, **form.told(), said=said)):
        messages.success(request, f"{person.name} is on the list for {form.cleaned_data['what']}.")
        return redirect("staff:person_list")
    return form.page("staff/person_form.html", {"finding": f"Qualify {person.name}", "press": "Put it on file"})


class DeputyForm(ActForm):
    """Who decides, and who does when that person is away."""

    act = "deputy named"

    decision = forms.ChoiceField(choices=[(act, words) for act, words in DECISIONS.items()], label="Decides on")
    holder = forms.ModelChoiceField(Person.objects.none(), to_field_name="badge", label="First person")
    deputy = forms.ModelChoiceField(Person.objects.none(), to_field_name="badge", label="When that person is away")
    from_on = forms.DateField(label="From", help_text="As 2026-03-02.")
    until_on = forms.DateField(required=False, label="Last day")

    def __init__(self, request: HttpRequest) -> None:
        super().__init__(request)
        people = Person.objects.filter(login=True, is_active=True).select_related("name_words").order_by("badge")
        for name in ("holder", "deputy"):
            self.fields[name].queryset = people  # type: ignore[attr-defined]


@in_area("Rulebook")
def deputy_list(request: HttpRequest) -> HttpResponse:
    """Who decides on what today, and who when that person is away."""
    named = {row.decision: row for row in deputies_on(works_day(clock.now()))}
    rows = [(words, may_decide(decision), named.get(decision)) for decision, words in DECISIONS.items()]
    return render(request, "staff/deputy_list.html", {"rows": rows, "named": len(named)})


def deputy_name(request: HttpRequest) -> HttpResponse:
    """Name who decides."""
    form = DeputyForm(request)

    def name(said: Any) -> Deputy:
        wanted = ("holder", "deputy", "from_on", "until_on")
        return name_deputy(form.cleaned_data["decision"], **{n: form.cleaned_data[n] for n in wanted}, said=said)

    if form.acted(name):
        messages.success(request, f"{form.made.holder.name} decides on {DECISIONS[form.made.decision]}.")
        return redirect("staff:deputy_list")
    lead = "Shown on the bench of Review and on the screens of what is held. Rights stay as they are: both may decide."
    return form.page("staff/person_form.html", {"finding": "Name who decides", "lead": lead, "press": "Name them"})


app_name = "staff"
urlpatterns = [
    # rulebook/people/
    path("", person_list, name="person_list"),
    path("add/", person_add, name="person_add"),
    path("deputies/", deputy_list, name="deputy_list"),
    path("deputies/name/", deputy_name, name="deputy_name"),
    path("<int:number>/roles/", roles_change, name="roles_change"),
    path("<int:number>/qualify/", qualification_give, name="qualification_give"),
    path("<int:number>/password/", password_of, name="password_of"),
    path("<int:number>/pin/", pin_of, name="pin_of"),
    path("<int:number>/badge/", badge_of, name="badge_of"),
]
