"""Pages of one lot, tank or bin, and what can be done with it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.html import format_html

from plant.catalogue.models import Part, Tank
from plant.catalogue.queries import tank_by_code
from plant.lists import FILES, as_file
from plant.people.acting import ActForm
from plant.people.areas import in_area, shown_in
from plant.quantities import print_amount
from records.ledger.acts import Said, was_taken
from records.ledger.refusals import Refused

from .actions import (
    charge_tank,
    clean_tank,
    draw_tank,
    extend_life,
    log_keeping,
    merge_lots,
    move_item,
    read_certificate,
    receive_lot,
    scrap,
    send_back,
    split_lot,
)
from .balance_bar import balance_rows
from .balancing import balanced, missing_by_counts
from .forms import ReceiveForm
from .gates import ask_amount, ask_contents, free_code
from .lot_forms import (
    BackForm,
    CertificateForm,
    ChargeForm,
    CleanForm,
    DecideForm,
    DrawForm,
    ExtendForm,
    KeepForm,
    MergeForm,
    MoveForm,
    RiskForm,
    ScrapForm,
    SplitForm,
)
from .lots import lot_page, tank_page
from .making import Input
from .models import Item, TankEntry
from .queries import find_item, item_by_code
from .tanks import ask_empty, ask_tank
from .telling import WAS, kept_words


def tell_marks(request: HttpRequest, form: ActForm) -> None:
    """Say what was marked or held by what was just kept."""
    words = kept_words(form.cleaned_data["key"])
    if words:
        messages.warning(request, words)


def tell_label(request: HttpRequest, words: str, code: str, *, packages: bool = False) -> None:
    """Say what became of a lot, and offer its label, and those of its packages, to whoever may print them."""
    if not request.user.may("label printed"):  # type: ignore[union-attr]  # nobody else is let in
        messages.success(request, words)
        return
    address = reverse("labels:label", args=[code])
    told = format_html('{} <a href="{}">Print its label</a>', words, address)
    if packages:
        of_packages = reverse("labels:package_labels", args=[code])
        told = format_html('{}, <a href="{}">print those of its packages</a>', told, of_packages)
    messages.success(request, told)


def lot_here(code: str) -> Item:
    """The lot of an address, or 404."""
    lot = find_item(code)
    if lot is None or lot.kind != Part.Tracked.LOT:
        raise Http404(f"No lot {code} is on file.")
    return lot


def tank_here(code: str) -> Tank:
    """The tank or bin of an address, or 404."""
    try:
        return tank_by_code(code)
    except Refused as refused:
        raise Http404(str(refused)) from refused


@shown_in("Stores")
def lot_receive(request: HttpRequest) -> HttpResponse:
    """Book a delivery in, into quarantine."""
    form = ReceiveForm(request)
    if form.acted(lambda said: receive_lot(form.cleaned_data["code"], form.delivery(), said=said)):
        words = f"{_booked_in(form)} is in quarantine. Stick its label on.{package_words(form)}"
        tell_label(request, words, form.made.code, packages=bool(form.cleaned_data["packages"]))
        tell_marks(request, form)
        return redirect("items:lot_decide", code=form.made.code)
    return form.page("items/lot_receive.html")


def _booked_in(form: ReceiveForm) -> str:
    """What was booked in, and how much of what as it was read: a slip is seen here first."""
    part, amount = form.cleaned_data["part"], form.cleaned_data["amount"]
    return f"{form.made.code}, {print_amount(amount.steps, part.unit, part.unit_kind)} of {part.number},"


def package_words(form: ReceiveForm) -> str:
    """What became of the packages of a delivery, and what of it has no label of its own."""
    packages, part = form.cleaned_data["packages"], form.cleaned_data["part"]
    if not packages:
        return ""
    one = len(packages) == 1
    words = f" {len(packages)} package{' stands' if one else 's stand'} on its page, each with a code"
    rest = form.cleaned_data["amount"].steps - sum(package.quantity.steps for package in packages)
    return f"{words}; {print_amount(rest, part.unit, part.unit_kind)} stay under its own." if rest else f"{words}."


@in_area("Stores")
def lot(request: HttpRequest, code: str) -> HttpResponse:
    """One lot: what it is, its certificate, its balance, what was split off it; as a page, or its balance as a file."""
    found = lot_here(code)
    form, balance = request.GET.get("form", ""), None
    if form in FILES and (balance := balanced(found)) is not None:
        return as_file(balance_rows(balance), form, f"balance-{found.code}")
    return render(request, "items/lot.html", {"page": lot_page(found)})


@shown_in("Stores")
def lot_decide(request: HttpRequest, code: str) -> HttpResponse:
    """Accept or reject a received lot."""
    lot = lot_here(code)
    form = DecideForm(request, lot)
    if form.acted(form.decide):
        messages.success(request, f"{lot.code} is {form.made.get_decision_display()}.")
        return redirect("items:lot", code=lot.code)
    page = lot_page(lot)
    if page.decisions:
        form.leave_out(page.decisions[0].decision)
    return form.page("items/lot_decide.html", {"lot": lot, "page": page})


@shown_in("Stores")
def lot_risk(request: HttpRequest, code: str) -> HttpResponse:
    """Release a lot at risk, within an amount and a time."""
    lot = lot_here(code)
    form = RiskForm(request, lot)
    if form.acted(form.release):
        messages.success(request, f"{lot.code} is released at risk. Put the watch tag on.")
        return redirect("items:lot", code=lot.code)
    return form.page("items/lot_risk.html", {"lot": lot, "page": lot_page(lot)})


@shown_in("Stores")
def lot_certificate(request: HttpRequest, code: str) -> HttpResponse:
    """Write values of a certificate that came after its goods."""
    lot = lot_here(code)
    form = CertificateForm(request, lot)
    if form.acted(lambda said: read_certificate(lot.code, form.told(), said=said)):
        messages.success(request, f"Kept. {len(form.made)} value{'' if len(form.made) == 1 else 's'} judged.")
        return redirect("items:lot_decide", code=lot.code)
    return form.page("items/lot_certificate.html", {"lot": lot, "page": lot_page(lot)})


def _about(lot: Item, form: ActForm, finding: str, press: str, lead: str, **more: Any) -> HttpResponse:
    """The page of one form about a lot."""
    told: Mapping[str, Any] = {"lot": lot, "finding": finding, "press": press, "lead": lead, "left": left_words(lot)}
    return form.page("items/lot_form.html", {**told, **more})


def left_words(lot: Item) -> str:
    """What a lot should still hold, by the records, or by its last count and what was taken since."""
    missing = missing_by_counts([lot.pk])
    left = (lot.state.remaining or 0) - missing.get(lot.pk, 0)
    words = print_amount(abs(left), lot.part.unit, lot.part.unit_kind)
    if left < 0:
        return f"By the records {words} more went out than came in: count it."
    return f"By {'its last count' if missing else 'the records'}: {words} left."


@shown_in("Stores")
def lot_split(request: HttpRequest, code: str) -> HttpResponse:
    """Split an amount off a lot."""
    found = lot_here(code)
    form = SplitForm(request)

    def split(said: Said) -> Item:
        wanted = Input(form.cleaned_data["code"], form.cleaned_data["amount"])
        ask_amount(found, wanted.quantity, said)
        return split_lot(found.code, [wanted], said=said)[0]

    if form.acted(split):
        tell_label(request, f"{form.made.code} is split off. Stick its label on.", form.made.code)
        tell_marks(request, form)
        return redirect("items:lot", code=form.made.code)
    lead = "It keeps the last good day of the lot that it comes from, and goes by what is decided on that."
    return _about(found, form, "Split an amount off", "Split it off", lead)


@shown_in("Stores")
def lot_merge(request: HttpRequest, code: str) -> HttpResponse:
    """Put a lot together with another one of its part."""
    found = lot_here(code)
    form = MergeForm(request)

    def merge(said: Said) -> Item:
        inputs, code = form.inputs(found), form.cleaned_data["code"]
        if code and not was_taken(said.key):
            free_code(code)  # a lot that stands keeps its own end and decisions: what is poured on it would go by those
        for lot, quantity in inputs:
            ask_amount(lot, quantity, said)
        return merge_lots(code, [Input(lot.code, amount) for lot, amount in inputs], said=said)

    if form.acted(merge):
        tell_label(request, f"{form.made.code} holds both. Stick its label on.", form.made.code)
        tell_marks(request, form)
        return redirect("items:lot", code=form.made.code)
    lead = "What goes together gets a code of its own, ends with the one that ends first, and is traced to both."
    return _about(found, form, "Put it together with another lot", "They are together", lead)


@shown_in("Stores")
def lot_move(request: HttpRequest, code: str) -> HttpResponse:
    """A lot comes to another place."""
    found = lot_here(code)
    form = MoveForm(request)
    if form.acted(lambda said: move_item(found.code, station=form.cleaned_data["station"].code, said=said)):
        tell_label(request, f"{found.code} is at {form.made.place}.", found.code)
        tell_marks(request, form)
        return redirect("items:lot", code=found.code)
    lead = f"It is at {found.state.place} by the records." if found.state.place else "Nobody told where it is."
    return _about(found, form, "Move it", "It is there", lead)


@shown_in("Stores")
def lot_keep(request: HttpRequest, code: str) -> HttpResponse:
    """A package is opened, or a lot goes out of the freezer or into it."""
    found = lot_here(code)
    form = KeepForm(request)
    if form.acted(lambda said: log_keeping(found.code, what=form.cleaned_data["what"], said=said)):
        messages.success(request, f"{found.code} was {WAS[form.made.what]}.")
        return redirect("items:lot", code=found.code)
    lead = "Time out of the freezer adds up; freezing again never sets it back. The data sheet comes first."
    return _about(found, form, "Opened, out of the freezer or into it", "Log it", lead)


@shown_in("Stores")
def lot_extend(request: HttpRequest, code: str) -> HttpResponse:
    """Give a lot a longer life, by certificate."""
    found = lot_here(code)
    form = ExtendForm(request)
    if form.acted(lambda said: extend_life(found.code, **form.told(), said=said)):  # type: ignore[arg-type]
        messages.success(request, f"{found.code} is good until {form.made.until:%-d %B %Y}.")
        return redirect("items:lot", code=found.code)
    lead = "A longer life is a departure: two people must have allowed it. The day before stays on file."
    return _about(found, form, "A longer life", "Make it longer", lead)


@shown_in("Stores")
def lot_scrap(request: HttpRequest, code: str) -> HttpResponse:
    """Write a lot off, the whole or an amount."""
    found = lot_here(code)
    form = ScrapForm(request)
    if form.acted(lambda said: scrap(found.code, **form.of(found, said), said=said)):
        messages.success(request, f"Written off from {found.code}.")
        tell_marks(request, form)
        return redirect("items:lot", code=found.code)
    lead = "Old resin and mixed adhesive may heat up by themselves: the marked place, by data sheet and local rules."
    return _about(found, form, "Write it off", "Write it off", f"{lead}{_missing_words(found)}", hold=True)


def _missing_words(lot: Item) -> str:
    """What a count found missing is no longer here to be written off."""
    missing = missing_by_counts([lot.pk]).get(lot.pk, 0)
    if missing <= 0:
        return ""
    words = print_amount(missing, lot.part.unit, lot.part.unit_kind)
    return f" The {words} that its last count found missing are not among what is left: their reason is told in Counts."


@shown_in("Stores")
def lot_back(request: HttpRequest, code: str) -> HttpResponse:
    """Send a lot back to its supplier, the whole or an amount."""
    found = lot_here(code)
    form = BackForm(request)
    if form.acted(lambda said: send_back(found.code, **form.of(found, said), said=said)):
        messages.success(request, f"Sent back from {found.code}.")
        tell_marks(request, form)
        return redirect("items:lot", code=found.code)
    lead = "What was used of it already stays in its trace. The carrier’s rules for dangerous goods come first."
    return _about(found, form, "Send it back to its supplier", "Send it back", lead, hold=True)


@in_area("Stores")
def tank(request: HttpRequest, code: str) -> HttpResponse:
    """A tank or bin: what is in it, and its log."""
    return render(request, "items/tank.html", {"page": tank_page(tank_here(code))})


def _about_tank(tank: Tank, form: ActForm, finding: str, press: str, lead: str, **more: Any) -> HttpResponse:
    """The page of one form about a tank or bin."""
    told = {"page": tank_page(tank), "finding": finding, "press": press, "lead": lead}
    return form.page("items/tank_form.html", {**told, **more})


@shown_in("Stores")
def tank_charge(request: HttpRequest, code: str) -> HttpResponse:
    """Charge a tank or bin with an amount of a lot."""
    found = tank_here(code)
    form = ChargeForm(request)

    def charge(said: Said) -> TankEntry:
        wanted = Input(form.cleaned_data["lot"], form.cleaned_data["amount"])
        ask_amount(item_by_code(wanted.code), wanted.quantity, said)
        return charge_tank(found.code, lot=wanted, said=said)

    if form.acted(charge):
        messages.success(request, f"{found.code} is charged with {form.made.item.code}.")
        tell_marks(request, form)
        return redirect("items:tank", code=found.code)
    lead = "What is drawn from now on may hold any lot in it. Mixed chemistry never goes back into a tank."
    return _about_tank(found, form, "Charge", "Charge it", lead)


@shown_in("Stores")
def tank_draw(request: HttpRequest, code: str) -> HttpResponse:
    """Draw an amount from a tank or bin, as a lot of its own."""
    found = tank_here(code)
    form = DrawForm(request)

    def draw(said: Said) -> Item:
        quantity = form.cleaned_data["amount"]
        ask_tank(found, said)
        ask_contents(found, tank_page(found).held, quantity, said)
        into = form.cleaned_data["code"]
        return draw_tank(found.code, into=into, quantity=quantity, all_the_same=said.done, said=said)

    if form.acted(draw):
        tell_label(request, f"{form.made.code} is drawn from {found.code}. Stick its label on.", form.made.code)
        tell_marks(request, form)
        return redirect("items:lot", code=form.made.code)
    lead = "It is made from every lot that can be in it, with the least and the most of each."
    return _about_tank(found, form, "Draw from", "Draw it", lead)


@shown_in("Stores")
def tank_clean(request: HttpRequest, code: str) -> HttpResponse:
    """Empty and clean a tank or bin."""
    found = tank_here(code)
    form = CleanForm(request)

    def clean(said: Said) -> TankEntry:
        ask_empty(found, said)
        return clean_tank(found.code, all_the_same=said.done, said=said)

    if form.acted(clean):
        messages.success(request, f"{found.code} is clean: no lot before counts for what is drawn after.")
        return redirect("items:tank", code=found.code)
    lead = "Only press when it is empty and clean: this cuts it off from every lot before. Solvent by local rules."
    return _about_tank(found, form, "Clean", "It is empty and clean", lead, hold=True)
