"""The Rulebook in a browser: what is in force, a change proposed whole, approved by another, never by the proposer."""

import pytest
from django.urls import reverse

from plant.catalogue import specs, writing_back
from plant.catalogue.comparing import compared
from plant.catalogue.models import (
    Approval,
    Characteristic,
    CharacteristicRevision,
    MixRevision,
    Part,
    PartRevision,
    Proposal,
    RouteRevision,
    RulebookRevision,
)
from plant.catalogue.queries import band_in_force, hold_scope
from records.ledger.clock import clock
from tests import builders
from tests.records.floor.told import tablet

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    clock_at(builders.moment(5))


def text(response) -> str:
    return response.content.decode()


def propose(what: str, /, standing: object = None, **told: object):
    """Send the form of a change as it is drawn, with some fields changed."""
    client = tablet("engineer")
    address = reverse("catalogue:change_propose", args=[what]) + (f"?of={standing.pk}" if standing else "")
    form = client.get(address).context["form"]
    drawn = {name: form[name].value() for name in form.fields}
    sent = {name: value for name, value in drawn.items() if value not in (None, "") and value is not False}
    return client.post(address, sent | {"reason": "found on the drawing"} | told)


def approve(role: str = "manager"):
    return tablet(role).post(
        reverse("catalogue:proposal", args=[Proposal.objects.latest("pk").pk]),
        {"key": "0b0cd3f4-5b1c-4b59-9f7a-0c4f7d0f5c11", "drawn_at": clock.now().isoformat()},
    )


def bore() -> CharacteristicRevision:
    return band_in_force(Characteristic.objects.get(name="bore"), clock.now())


def test_everything_in_force_stands_on_one_page():
    page = text(tablet("auditor").get(reverse("catalogue:rulebook")))
    for told in ("34.85", "34.95", "mould → vent → trim", "RES-A with HRD-A give MIX-A", "Run failed", "OSIER-F"):
        assert told in page, told
    assert "Propose a band" not in page


def test_a_band_is_in_force_once_somebody_else_approves_it():
    assert propose("band", bore(), upper="34.96").status_code == 302
    assert bore().upper == 34_950_000
    assert "wait" in text(tablet("manager").get(reverse("catalogue:rulebook")))
    assert approve().status_code == 302
    assert (bore().upper, bore().revision) == (34_960_000, "2")


def test_a_change_is_shown_beside_what_is_in_force_and_what_stays_is_said_to_stay():
    propose("band", bore(), upper="34.96", decimals="3")
    (shown,) = (
        tablet("manager")
        .get(reverse("catalogue:proposal", args=[Proposal.objects.latest("pk").pk]))
        .context["revisions"]
    )
    told = {line.word: (line.was, line.now) for line in shown.lines if line.changes}
    assert (shown.before.revision, shown.row.revision) == ("1", "2")
    assert told["upper"] == ("34.95", "34.96")
    assert "lower" not in told
    assert shown.changed == list(told)


def test_a_first_revision_stands_alone_and_an_approved_one_beside_the_one_before_it():
    propose("part", number="NEW-1", kind="insert", unit="pcs", name="a new insert")
    first = compared("part", PartRevision.objects.latest("pk"))
    assert (first.before, first.changed) == (None, [])
    propose("band", bore(), upper="34.96")
    approve()
    assert compared("band", bore()).changed == ["upper"]


def test_the_proposer_is_shown_no_way_to_approve_and_is_refused():
    propose("band", bore(), upper="34.96")
    page = tablet("engineer").get(reverse("catalogue:proposal", args=[Proposal.objects.latest("pk").pk]))
    assert "Approve it</button>" not in text(page)
    assert "You proposed this. Somebody else must approve it." in text(approve("engineer"))
    assert not Approval.objects.filter(proposal=Proposal.objects.latest("pk")).exists()


def test_a_second_press_proposes_once():
    client = tablet("engineer")
    address = reverse("catalogue:change_propose", args=["part"])
    form = client.get(address).context["form"]
    hidden = {name: str(form.initial[name]) for name in ("key", "drawn_at")}
    told = {"number": "FIB-50", "kind": "fibre", "unit": "g", "code_prefix": "FB", "reason": "finer"}
    for _ in range(2):
        assert client.post(address, hidden | told).status_code == 302
    assert Part.objects.filter(number="FIB-50", prefix="FB").count() == 1


@pytest.mark.parametrize(
    ("kind", "model", "back"),
    [
        ("band", CharacteristicRevision, writing_back.band_spec),
        ("mix", MixRevision, writing_back.mix_spec),
        ("route", RouteRevision, writing_back.route_spec),
    ],
)
def test_what_stands_is_proposed_again_unchanged_by_an_untouched_form(kind, model, back):
    standing = model.objects.order_by("pk")[1]
    assert propose(kind, standing).status_code == 302
    assert back(model.objects.latest("pk")) == back(standing)


def test_a_route_with_everything_it_can_ask_is_kept_whole():
    told = {
        "part": "OSIER-R",
        "name-1": "cut",
        "station_kind-1": "bench",
        "tool_kind-1": "jig",
        "caution-1": "dust",
        "inputs-1": "fibre FIB-UD 180 g; binder",
        "readings-1": "edge mm 1 3; torque deg - 90",
        "runs-1": "leak-test, cure",
        "measures-1": "bore",
        "makes_safe-1": "on",
        "good_for_min-1": "45",
        "rest_min-1": "90",
        "name-2": "polish",
    }
    assert propose("route", **told).status_code == 302
    operation, _ = writing_back.route_spec(RouteRevision.objects.latest("pk")).operations
    assert operation == specs.OperationSpec(
        "cut",
        "bench",
        "jig",
        "dust",
        makes_safe=True,
        inputs=[specs.InputSpec("fibre", "FIB-UD", "180 g"), specs.InputSpec("binder")],
        readings=[specs.ReadingSpec("edge", "mm", "1", "3"), specs.ReadingSpec("torque", "deg", "", "90")],
        runs=["leak-test", "cure"],
        measures=["bore"],
        good_for_min=45,
        rest_min=90,
    )


def test_other_settings_hold_from_their_approval_on():
    standing = RulebookRevision.objects.get()
    propose("settings", standing, **{"hold-gauge-overdue": "3", "cut_off": "0,01"})
    assert hold_scope("gauge-overdue", clock.now()) == 0
    approve()
    assert hold_scope("gauge-overdue", clock.now()) == 3
    assert RulebookRevision.objects.latest("pk").cut_off_ppb == 10_000_000


@pytest.mark.parametrize(
    ("kind", "told", "words"),
    [
        (
            "band",
            {"part": "OSIER-F", "name": "bore", "lower": "35", "upper": "34"},
            "The lower limit lies above the upper",
        ),
        ("band", {"part": "NONE", "name": "bore", "upper": "34"}, "No part is called NONE"),
        ("band", {"part": "OSIER-F", "name": "bore", "upper": "wide"}, "be read as a number"),
        (
            "mix",
            {"mix": "EPOXY", "part": "MIX-A", "of": "RES-A", "tolerance": "0", "pot_life_min": "5"},
            "no part with",
        ),
        (
            "mix",
            {"mix": "EPOXY", "part": "MIX-A", "of": "RES-A 100", "tolerance": "0", "pot_life_min": "5"},
            "at least two",
        ),
        ("route", {"part": "OSIER-R"}, "at least one operation"),
        ("route", {"part": "OSIER-R", "name-1": "cut", "inputs-1": "glue"}, "glue is no kind of part"),
        ("route", {"part": "OSIER-R", "name-1": "cut", "readings-1": "edge mm 1"}, "is no reading"),
        ("settings", {"cut_off": "2"}, "A share lies between 0 and 1"),
        ("part", {"number": "X", "kind": "fibre"}, "Say what it is measured in"),
    ],
)
def test_what_is_wrong_is_told_and_nothing_is_kept(kind, told, words):
    before = Proposal.objects.count()
    answer = propose(kind, **told)
    assert answer.status_code == 200
    assert words in text(answer)
    assert Proposal.objects.count() == before


def test_a_change_without_a_reason_is_not_taken():
    assert propose("band", bore(), reason="").status_code == 200


@pytest.mark.parametrize(
    "address", ["/rulebook/propose/weather/", "/rulebook/propose/band/?of=9999", "/rulebook/proposal/9999/"]
)
def test_what_does_not_exist_is_not_found(address):
    assert tablet("engineer").get(address).status_code == 404


def test_a_value_asked_of_a_certificate_stands_on_one_line():
    """A second line of the same name would find no value, and no lot could ever be accepted."""
    lines = "viscosity; mPa s; 250; 400\nVis cosity; mPa s; -; 500"
    page = text(propose("part", number="RES-Z", kind="resin", unit="g", certificate=lines))
    assert "“Vis cosity” stands on two lines." in page
