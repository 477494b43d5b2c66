"""The page at the change of shift: what stands on it, both signatures, and that it can be read as it was signed."""

import json
from datetime import timedelta

import pytest
from django.test import Client

from plant.people.actions import set_language, set_pin
from plant.people.middleware import BY_TABLET
from plant.people.models import Device, DeviceContact, Person, PersonKey
from plant.people.tablets import sign_in_message
from records.floor.actions import Line, call_lead, hand_over, print_sheet
from records.floor.handing import lines_now, with_old_entries
from records.floor.models import HandOver, HandOverLine
from records.floor.proving import signed_text
from records.floor.sitting import sitting_of
from records.items.actions import place_hold
from records.ledger.clock import clock
from records.ledger.models import Signature
from records.ledger.refusals import Refused
from records.ledger.verifying import verify
from tests import builders
from tests.builders import moment, said
from tests.keys import Key, a_key, a_tablet
from tests.records.floor.told import entry, lot, send, tablet

pytestmark = pytest.mark.django_db
PASSWORD = "willow bark and rushes"


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    clock_at(moment(5))


def told(about: str) -> list[tuple[str, str]]:
    return [(line.code, line.says) for line in lines_now(clock.now()) if line.about == about]


def a_silent_tablet() -> None:
    maker = builders.a_front("F9").entry
    device = Device.objects.create(entry=maker, code="TB-26-000001-5")
    heard = {"at": moment(3.5), "station": "MOULD-1", "unsent": 3, "oldest_at": moment(3)}
    DeviceContact.objects.create(device=device, **heard)


def test_each_station_tells_what_is_in_it_and_what_comes_next():
    send(tablet(), entry("mould", unit="F1", part="OSIER-F", station="MOULD-1", tools=["ML-1"], preforms=[]))
    stations = dict(told("station"))
    assert stations["STORE"] == "STORE: nothing in work"
    assert "F1, next vent" in stations["MOULD-1"]


def test_a_tablet_takes_the_page_along_in_every_language_but_for_pots_whose_minutes_it_works_out():
    builders.a_front("F1")
    place_hold("F1", reason="doubt", said=said(4))
    taken = tablet("operator").get("/floor/snapshot/?device=TB-1").json()
    assert [section["about"] for section in taken["handing"]] == list(HandOverLine.About)
    lines = {section["about"]: section["lines"] for section in taken["handing"]}
    assert lines["pot"] == []
    ((code, read),) = lines["hold"]
    assert (code, read["en"]) == ("F1", "a doubt about the record, since 2 Mar 12:00")
    assert read["de"].startswith("Zweifel")
    leads = [person["badge"] for person in taken["people"] if "shift handed over" in person["acts"]]
    assert "lead" in leads
    assert "operator" not in leads


def test_open_pots_tell_their_minutes():
    builders.a_lot("R9")
    builders.a_lot("H9", "HRD-A")
    send(tablet(), entry("mix", hours=4.5, pot="P9", mix="EPOXY", components=[lot("R9", "100 g"), lot("H9", "30 g")]))
    assert told("pot") == [("P9", "MIX-A, 15 min left")]


def test_holds_calls_and_sheets_stand_on_it():
    builders.a_front("F1")
    place_hold("F1", reason="doubt", said=said(4))
    call_lead("MOULD-1", said=said(5, by="operator"))
    sheet = print_sheet("MOULD-1", said=said(4, by="lead"))
    assert told("hold") == [("F1", "a doubt about the record, since 2 Mar 12:00")]
    assert told("call") == [
        (
            "MOULD-1",
            "operator of the works calls you to MOULD-1. Called 13:00. It rings for "
            "Everybody, lead of the works and 1 more: nobody has seen it yet.",
        )
    ]
    assert told("sheet") == [(sheet.code, "MOULD-1, printed 2 Mar 12:00, 0 lines typed in")]


def test_a_silent_tablet_tells_what_had_not_gone_up_and_the_lead_is_told_of_entries_older_than_an_hour():
    a_silent_tablet()
    says = "last heard of 90 min ago at MOULD-1, with 3 entries not gone up, the oldest of 2 Mar 11:00"
    assert told("tablet") == [("TB-26-000001-5", says.replace("90 min", "1 h"))]
    assert len(with_old_entries(clock.now())) == 1
    assert with_old_entries(moment(3) + timedelta(minutes=59)) == []
    assert "have not gone up" in tablet("lead").get("/floor/").content.decode()
    assert "have not gone up" not in tablet("operator").get("/floor/").content.decode()


def signing(client, **more) -> dict[str, str]:
    form = client.get("/floor/hand-over/").context["form"]
    told = {name: form[name].value() for name in ("key", "drawn_at", "shown")}
    return told | {"badge": "second", "password": PASSWORD} | more


def a_second_lead() -> None:
    second = Person.objects.get(badge="second")
    second.set_password(PASSWORD)
    second.save()


def test_both_leads_sign_and_the_page_stays_as_they_read_it():
    a_second_lead()
    lead = tablet("lead")
    sent = signing(lead, words="Press 2 leaks a little.")
    call_lead("MOULD-1", said=said(5, by="operator"))  # after the page was drawn
    answer = lead.post("/floor/hand-over/", sent, follow=True)
    row = HandOver.objects.get()
    assert (row.going.badge, row.coming.badge, str(row.words)) == ("lead", "second", "Press 2 leaks a little.")
    assert not HandOverLine.objects.filter(about="call").exists()
    assert row.lines.filter(about="station").count() == 5
    assert "lead of the works handed over to Second" in answer.content.decode()
    assert verify().faults == ()
    assert "Press 2 leaks a little." in tablet("auditor").get("/floor/hand-over/before/").content.decode()


def test_without_the_second_lead_nothing_is_signed():
    a_second_lead()
    lead = tablet("lead")
    page = lead.post("/floor/hand-over/", signing(lead, password="wrong")).content.decode()
    assert "do not belong together" in page
    assert not HandOver.objects.exists()


def test_on_a_tablet_of_the_works_the_second_lead_signs_by_badge_and_pin():
    set_pin(Person.objects.get(badge="second"), "271828", said=said(0, by="second"))
    lead = on_a_tablet("lead")
    page = lead.get("/floor/hand-over/")
    assert "Their PIN" in page.content.decode()
    assert "Their password" not in page.content.decode()
    told = {name: page.context["form"][name].value() for name in ("key", "drawn_at", "shown")}
    for badge, pin, words in (
        ("second", "141421", "This is not the PIN of that badge. Nothing was kept."),
        ("lead", "271828", "That is your own badge. A second person must sign."),
    ):
        answer = lead.post("/floor/hand-over/", told | {"badge": badge, "pin": pin}).content.decode()
        assert words in answer
        assert not HandOver.objects.exists()
    lead.post("/floor/hand-over/", told | {"badge": "second", "pin": "271828"})
    assert HandOver.objects.get().coming.badge == "second"


def on_a_tablet(badge: str, device: str = "") -> Client:
    """Somebody who came in at a tablet of the works by badge and PIN."""
    client = tablet(badge)
    session = client.session
    session.update({BY_TABLET: True, "device": device})
    session.save()
    return client


def a_hand_over(client: Client, device: str, *, hours: float = 5, **more: object) -> dict:
    """The entry of the page as the tablet's outbox makes it."""
    told = json.loads(client.get("/floor/hand-over/").context["entry"])
    sent = entry("hand-over", hours=hours, **told["payload"] | {"words": "Press 2 leaks."})
    return sent | {"device": device, "by": "lead"} | more


def signed_by_both(sent: dict, going: Key, coming: Key) -> dict:
    """The entry as both keys sign it: the second signs the same text."""
    sent = sent | {"second": {"by": "second", "signer": coming.public}}
    sent = going.entry(sent)
    return sent | {"second": sent["second"] | {"signature": coming.signs(signed_text(sent).encode())}}


def test_on_a_tablet_both_sign_by_their_own_keys_and_the_server_checks_them():
    device = a_tablet().code
    going, coming = (a_key(badge, Device.objects.get()) for badge in ("lead", "second"))
    client = on_a_tablet("lead", device)
    (answer,) = send(client, signed_by_both(a_hand_over(client, device), going, coming))
    assert answer["outcome"] == "taken"
    row = HandOver.objects.get()
    assert (row.going.badge, row.coming.badge, str(row.words)) == ("lead", "second", "Press 2 leaks.")
    assert sorted(Signature.objects.values_list("is_second", flat=True)) == [False, True]
    assert verify().faults == ()
    assert "each by their own key" in client.get(f"/floor/hand-over/{row.entry.key}/").content.decode()


@pytest.mark.parametrize("forged", ["going", "coming"])
def test_a_signature_that_does_not_fit_hands_nothing_over(forged):
    device = a_tablet().code
    keys = {name: a_key(badge, Device.objects.get()) for name, badge in (("going", "lead"), ("coming", "second"))}
    keys[forged].private = Key().private  # signs by another key than the one that the server knows
    client = on_a_tablet("lead", device)
    (answer,) = send(client, signed_by_both(a_hand_over(client, device), keys["going"], keys["coming"]))
    codes = {"going": "bad-signature", "coming": "second-person"}
    assert (answer["outcome"], answer["code"]) == ("refused", codes[forged])
    assert not HandOver.objects.exists()


def test_a_tablet_hands_over_to_nobody_who_does_not_sign_and_not_to_an_operator():
    device = a_tablet().code
    client = on_a_tablet("lead", device)
    (alone,) = send(client, a_hand_over(client, device))
    assert (alone["outcome"], alone["code"]) == ("refused", "second-person")
    line = sitting_of(Person.objects.get(badge="operator"), device)
    (wrong,) = send(client, a_hand_over(client, device, second={"by": "operator", "sitting": line}))
    assert (wrong["outcome"], wrong["code"]) == ("refused", "not-allowed")
    assert not HandOver.objects.exists()


def test_a_hand_over_that_was_signed_without_a_link_is_taken_once_and_an_old_page_is_not(clock_at):
    device = a_tablet().code
    client = on_a_tablet("lead", device)
    line = sitting_of(Person.objects.get(badge="second"), device)
    sent = a_hand_over(client, device, second={"by": "second", "sitting": line}, done=True)
    late = a_hand_over(client, device, hours=5.6, second={"by": "second", "sitting": line})
    clock_at(moment(7))
    assert [send(client, sent)[0]["repeat"] for _ in range(2)] == [False, True]
    assert send(client, late)[0]["code"] == "too-old"
    assert HandOver.objects.count() == 1


def without_a_link(client: Client, device: str, hours: float, unsent: int, second: str) -> dict:
    """The entry of the page that a tablet draws by what it took along at its last contact."""
    snapshot = client.get(f"/floor/snapshot/?device={device}").json()
    payload = {"shown": snapshot["handing_shown"], "words": "", "without_link": True, "unsent": unsent}
    beside = {"by": "second", "sitting": second}
    return entry("hand-over", hours=hours, **payload) | {"device": device, "by": "lead", "second": beside}


def test_without_a_link_both_sign_what_the_tablet_knew_at_its_last_contact_and_the_page_says_so(clock_at):
    builders.a_front("F1")
    place_hold("F1", reason="doubt", said=said(4))
    device = a_tablet().code
    client = on_a_tablet("lead", device)
    line = sitting_of(Person.objects.get(badge="second"), device)
    sent = without_a_link(client, device, 9, 2, line)
    much_later = without_a_link(client, device, 30, 0, line)
    clock_at(moment(9.5))
    assert [send(client, sent)[0]["outcome"] for _ in range(2)] == ["taken", "taken"]
    row = HandOver.objects.get()
    assert (row.seen_at, row.unsent, row.handed_at) == (moment(5), 2, moment(9))
    assert row.lines.filter(code="F1").exists()
    page = client.get(f"/floor/hand-over/{row.entry.key}/").content.decode()
    assert "It was signed without a link: it tells of 2 Mar 13:00, the last contact of that tablet" in page
    clock_at(moment(31))
    assert send(client, much_later)[0]["code"] == "too-old"


def test_a_page_that_was_signed_with_a_link_says_of_which_moment_it_tells():
    device = a_tablet().code
    client = on_a_tablet("lead", device)
    line = sitting_of(Person.objects.get(badge="second"), device)
    send(client, a_hand_over(client, device, second={"by": "second", "sitting": line}))
    row = HandOver.objects.get()
    assert (row.seen_at, row.unsent) == (moment(5), None)
    assert "It tells of 2 Mar 13:00." in client.get(f"/floor/hand-over/{row.entry.key}/").content.decode()


def test_a_lead_who_signs_beside_for_the_first_time_makes_a_key_with_the_pin():
    own, key = Key(), Key()
    device = a_tablet(key=key)
    set_pin(Person.objects.get(badge="second"), "2718", said=said(0, by="second"))
    client = Client()
    line = client.get("/floor/sign/", {"device": device.code}).json()["line"]
    sent = {"device": device.code, "badge": "second", "line": line, "beside": True, "public_key": own.public}
    sent["proof"] = key.signs(sign_in_message(device.code, "second", line))
    for pin, status, keys in (("", 403, 0), ("9999", 403, 0), ("2718", 200, 1)):
        answer = client.post("/floor/sign/", json.dumps(sent | {"pin": pin}), content_type="application/json")
        assert (answer.status_code, PersonKey.objects.count()) == (status, keys)
    assert PersonKey.objects.get().person.badge == "second"


@pytest.mark.parametrize("language", ["de", "it"])
def test_on_a_tablet_the_page_speaks_the_language_of_the_badge_and_what_was_signed_is_read_in_it(language):
    builders.a_front("F1")
    place_hold("F1", reason="doubt", said=said(4))
    a_silent_tablet()
    device = Device.objects.get().code
    lines = {line.code: line for line in lines_now(clock.now())}
    assert lines["F1"].says == "a doubt about the record, since 2 Mar 12:00"
    set_language(Person.objects.get(badge="lead"), language, said=said(4, by="lead"))
    client = on_a_tablet("lead", device)
    page = client.get("/floor/hand-over/").content.decode()
    for code in ("F1", device):
        assert lines[code].spoken[language] != lines[code].says
        assert lines[code].spoken[language] in page
        assert lines[code].says not in page
    assert "No pot stands open." not in page
    line = sitting_of(Person.objects.get(badge="second"), device)
    send(client, a_hand_over(client, device, second={"by": "second", "sitting": line}))
    row = HandOver.objects.get()
    assert row.lines.get(code="F1").says == lines["F1"].says  # what is kept is English
    before = f"/floor/hand-over/{row.entry.key}/"
    assert lines["F1"].spoken[language] in client.get(before).content.decode()
    assert lines["F1"].says in tablet("lead").get(before).content.decode()  # at a desk


def test_the_desk_keeps_its_frame_and_english():
    set_language(Person.objects.get(badge="lead"), "de", said=said(4, by="lead"))
    page = tablet("lead").get("/floor/hand-over/").content.decode()
    assert '<html lang="en"' in page
    assert "Their password" in page
    assert "data-entry" not in page


def test_a_page_of_yesterday_is_not_signed():
    a_second_lead()
    lead = tablet("lead")
    sent = signing(lead)
    assert (
        "too old to be signed" in lead.post("/floor/hand-over/", sent | {"shown": "x" + sent["shown"]}).content.decode()
    )
    assert not HandOver.objects.exists()


@pytest.mark.parametrize(("badge", "code"), [("lead", "second-person"), ("operator", "not-allowed")])
def test_another_lead_takes_over(badge, code):
    coming = Person.objects.get(badge=badge)
    with pytest.raises(Refused) as refused:
        hand_over([Line("call", "", "Nobody.")], coming=coming, said=said(5, by="lead"))
    assert refused.value.code == code
