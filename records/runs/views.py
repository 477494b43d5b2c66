"""Pages of runs: the list, one run with its curve, a file read in, judged, decided; a recipe and its proposal."""

from __future__ import annotations

import re
import zlib

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from plant.catalogue.actions import propose_change
from plant.catalogue.models import RecipeRevision
from plant.catalogue.specs import RecipeSpec, RuleSpec
from plant.lists import list_page
from plant.people.areas import in_area, opens, shown_in
from records.items.lot_views import tell_marks
from records.items.models import Item
from records.ledger.acts import Said
from records.ledger.refusals import Refused

from .actions import assess_run, decide_run, meter_pot, read_log_file, record_run
from .assessing.features import FEATURES, Feature
from .forms import AssessForm, DecideForm, LogForm, RecipeForm, RunForm, ShotForm
from .laying import MOST, lay_over
from .models import Log, LogBytes, Run
from .queries import open_runs, run_by_code, standing_of_run
from .recipes import bound_of, plain, rules_of
from .showing import limits_words, rule_name, run_page, run_rows, shown_unit
from .tables import RunFilter, RunTable


def run_here(code: str) -> Run:
    """The run of an address, or 404."""
    try:
        return run_by_code(code)
    except Refused as refused:
        raise Http404(str(refused)) from refused


@in_area("Curves")
def run_list(request: HttpRequest) -> HttpResponse:
    """Runs, those that wait for a decision first; as a page or a file."""
    found = RunFilter(request.GET, Run.objects.newest())
    rows = run_rows(found.qs)
    page = list_page(request, RunTable(rows), name="runs", filtered=found)
    context = {"list": page, "waits": len(open_runs()), "any": bool(rows) or Run.objects.exists()}
    return page.file or render(request, "runs/run_list.html", context)


@in_area("Curves")
def run(request: HttpRequest, code: str) -> HttpResponse:
    """One run: what was found, the curve, each check, and what the record is."""
    found = run_here(code)
    before = Run.objects.newest().filter(kind=found.kind, began_at__lt=found.began_at).order_by("-began_at", "-pk")
    return render(request, "runs/run.html", {"page": run_page(found), "before": before[: MOST - 1]})


@in_area("Curves")
def runs_over(request: HttpRequest) -> HttpResponse:
    """Up to four runs laid over each other on one clock."""
    codes = [code for told in request.GET.getlist("run") for code in re.split(r"[\s,;]+", told)]
    return render(request, "runs/over.html", {"page": lay_over(codes, request.GET.get("from", ""))})


@in_area("Curves")
def log_file(_: HttpRequest, number: int) -> HttpResponse:
    """A recorder file as it was sent, byte for byte."""
    log = get_object_or_404(Log, pk=number)
    response = HttpResponse(zlib.decompress(bytes(LogBytes.objects.get(log=log).raw)))
    response["Content-Type"] = "application/octet-stream"
    name = "".join(sign if sign.isalnum() or sign in "-_." else "-" for sign in log.name)
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    return response


@shown_in("Curves")
def run_record(request: HttpRequest) -> HttpResponse:
    """Record a run with the units in it."""
    form = RunForm(request)
    if form.acted(lambda said: record_run(form.told(), said=said)):
        messages.success(request, f"{form.made.code} is on file. Read its recorder file in.")
        return redirect("runs:log_read", code=form.made.code)
    return form.page("runs/run_form.html", {"finding": "Record a run", "press": "Record it"})


@shown_in("Curves")
def shot_read(request: HttpRequest) -> HttpResponse:
    """A pot that a machine metered, by the machine's own log."""
    form = ShotForm(request)

    def metered(said: Said) -> Item:
        told = form.cleaned_data
        return meter_pot(told["pot"], mix=told["mix"], lots=told["sources"], file=form.told(), said=said)

    if form.acted(metered):
        messages.success(request, f"{form.made.code} is on file, with what its log tells. Stick its label on.")
        tell_marks(request, form)
        address = reverse("items:lot", args=[form.made.code])
        return redirect(address if opens(request.user, address) else "home")  # type: ignore[arg-type]
    lead = "Each mass is what the channel’s total rose by. It has been mixed: off its ratio it is kept and marked."
    return form.page("runs/run_form.html", {"finding": "A pot from a machine’s log", "press": "Log it", "lead": lead})


@shown_in("Curves")
def log_read(request: HttpRequest, code: str) -> HttpResponse:
    """Read a recorder file into a run."""
    found = run_here(code)
    form = LogForm(request)
    if form.acted(lambda said: read_log_file(found.code, form.told(), said=said)):
        messages.success(request, f"{form.made.name}: {form.made.rows} rows read.")
        return redirect(*(("runs:run", found.code) if request.user.may("run assessed") else ("home",)))  # type: ignore[union-attr]
    lead = "The file is kept byte for byte. Nothing in it is guessed: what can’t be read is told."
    context = {"finding": f"Read a file into {found.code}", "press": "Read it in", "lead": lead, "run": found}
    return form.page("runs/run_form.html", context)


@shown_in("Curves")
def run_assess(request: HttpRequest, code: str) -> HttpResponse:
    """Judge a run's newest file under a recipe."""
    found = run_here(code)
    form = AssessForm(request, found)
    if form.acted(lambda said: assess_run(found.code, recipe=form.cleaned_data["recipe"], said=said)):
        messages.success(request, "Judged. A passed record does not prove the part.")
        return redirect("runs:run", code=found.code)
    lead = "The recipe in force when the run began. An earlier judgement stays on file."
    return form.page(
        "runs/run_form.html", {"finding": f"Judge {found.code}", "press": "Judge it", "lead": lead, "run": found}
    )


@shown_in("Curves")
def run_decide(request: HttpRequest, code: str) -> HttpResponse:
    """Decide on a run that was judged."""
    found = run_here(code)
    form = DecideForm(request)

    if form.acted(lambda said: decide_run(found.code, **form.decided(), said=said)):
        messages.success(request, f"{found.code} is {form.made.get_choice_display()}.")
        return redirect("runs:run", code=found.code)
    standing = standing_of_run(found)
    lead = (
        f"It was judged {standing.assessment.get_verdict_display()}."
        if standing.assessment
        else "It was not judged yet."
    )
    return form.page("runs/run_decide.html", {"page": run_page(found), "lead": lead})


@in_area("Rulebook")
def recipe(request: HttpRequest, number: int) -> HttpResponse:
    """One revision of a recipe with its limits."""
    revision = get_object_or_404(RecipeRevision.objects.select_related("proposal__approval"), pk=number)
    rules = [
        (rule_name(rule), limits_words(rule), shown_unit(FEATURES[Feature(rule.feature)].unit))
        for rule in rules_of(revision)
    ]
    others = RecipeRevision.objects.filter(recipe=revision.recipe).exclude(pk=number).order_by("-pk")
    return render(request, "runs/recipe.html", {"revision": revision, "rules": rules, "others": others})


def recipe_spec(revision: RecipeRevision) -> RecipeSpec:
    """A recipe written back as it was stated."""
    rules = []
    for rule in rules_of(revision):
        feature = Feature(rule.feature)
        known = FEATURES[feature]
        level = ""
        if rule.level is not None and known.level_unit and known.level_kind:
            level = f"{plain(rule.level, known.level_unit, known.level_kind):.10g}"
        low, high = ("" if s is None else f"{bound_of(feature, s):.10g}" for s in (rule.lower, rule.upper))
        rules.append(RuleSpec(rule.feature, known.unit, rule.role, level, lower=low, upper=high))
    return RecipeSpec(revision.recipe, revision.kind, rules)


def recipe_propose(request: HttpRequest) -> HttpResponse:
    """Propose a recipe, beginning from the revision that ``of`` names."""
    number = request.GET.get("of", "")
    standing = get_object_or_404(RecipeRevision, pk=number) if number.isdigit() else None
    form = RecipeForm(request, recipe_spec(standing) if standing else None)
    if form.acted(lambda said: propose_change(form.spec(), reason=form.cleaned_data["reason"], said=said)):
        messages.success(request, "Proposed. It is in force once somebody else approves it.")
        return redirect("catalogue:proposal", number=form.made.pk)
    return form.page("catalogue/change_propose.html", {"standing": standing})
