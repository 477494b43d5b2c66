"""What a tablet fetches for the time without a link: the snapshot, the worker with its shell, and the file taken in."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from datetime import datetime
from functools import lru_cache
from hashlib import sha256
from pathlib import Path

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.contrib.staticfiles import finders
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.template.loader import render_to_string
from django.templatetags.static import static
from django.urls import reverse
from django.utils import translation
from django.utils.translation import gettext as _
from django.utils.translation.trans_real import DjangoTranslation
from django.views.decorators.csrf import ensure_csrf_cookie
from django.views.i18n import JSONCatalog

from plant.people.areas import in_area
from plant.people.middleware import DEVICE, SAT
from plant.people.models import Person
from plant.speaking import languages
from records.ledger.photos import keep_photo
from records.ledger.refusals import Refused

from .camera import camera_page
from .codes import file_of_lines
from .fields import LONGEST_CODE
from .files import read_file
from .snapshot import snapshot_for
from .taking import FLAGGED, LATER, TAKEN, Answer, take_all

WORKER = Path(__file__).with_name("worker.js")
FONTS = [
    f"vendor/atkinson-hyperlegible/atkinson-hyperlegible-{face}-latin-wght-normal.woff2" for face in ("next", "mono")
]
STYLES = ("plant/fonts.css", "plant/tokens.css", "plant/site.css", "plant/drawings.css")
# What pages and style sheets name stands under a name of its content; modules import each other by their plain names.
NAMED = (
    *STYLES,
    "floor/floor.css",
    "floor/fits.css",
    "floor/leaves.css",
    "floor/again.js",
    "floor/tablet.js",
    "floor/camera.js",
    "plant/lights.js",
    "plant/mark.svg",
    *FONTS,
)
MODULES = (
    "ahead.js",
    "ais.js",
    "calls.js",
    "canonical.js",
    "changing.js",
    "clocks.js",
    "carrying.js",
    "closed.js",
    "copies.js",
    "dialogs.js",
    "due.js",
    "gathering.js",
    "gauge.js",
    "gs1.js",
    "fitting.js",
    "going.js",
    "handing.js",
    "held.js",
    "kept.js",
    "keys.js",
    "labels.js",
    "last.js",
    "leaves.js",
    "leaving.js",
    "link.js",
    "lists.js",
    "many.js",
    "manyscreen.js",
    "metering.js",
    "misreads.js",
    "numbers.js",
    "outbox.js",
    "paper.js",
    "pad.js",
    "payload.js",
    "photos.js",
    "pots.js",
    "pin.js",
    "printing.js",
    "register.js",
    "resting.js",
    "opening.js",
    "risks.js",
    "rules.js",
    "say.js",
    "scanned.js",
    "scans.js",
    "screens.js",
    "shell.js",
    "sounds.js",
    "still.js",
    "told.js",
    "touches.js",
    "touching.js",
    "undo.js",
    "waits.js",
    "walk.js",
    "wedge.js",
    "weighing.js",
    "who.js",
)
# The camera's decoder: five times as large as the shell, so it is kept beside it, once that stands and there is a link.
BESIDE = ("vendor/zxing-wasm/reader.js", "vendor/zxing-wasm/zxing_reader.wasm")
PLAIN = (*(f"floor/{name}" for name in MODULES), "vendor/lean-qr/index.mjs")


@in_area("Floor")
@ensure_csrf_cookie
def snapshot(request: HttpRequest) -> HttpResponse:
    """Rules and things of this moment, for the tablet that asks."""
    device = request.GET.get("device", "")[:LONGEST_CODE]
    sat = request.session.get(SAT)
    since = datetime.fromisoformat(sat) if sat else None
    told = snapshot_for(request.user, device, since)  # type: ignore[arg-type]  # nobody else is let in
    if told["tablet"] and request.session.get(DEVICE) != device:
        request.session[DEVICE] = device  # from here on this session ends with the tablet
    return JsonResponse(told)


@in_area("Floor")
def shell(_: HttpRequest) -> HttpResponse:
    """The page that stands in for any page of the floor where there is no link; a script fills it from the tablet."""
    return HttpResponse(shell_page())


class Words(JSONCatalog):
    """Words of the scripts, of the house alone and of none of its libraries."""

    def of(self, language: str) -> dict[str, str]:
        folders = [str(folder) for folder in settings.LOCALE_PATHS]
        self.translation = DjangoTranslation(language, domain=self.domain, localedirs=folders)
        return {sentence: str(said) for sentence, said in self.get_catalog().items()}


def spoken_here() -> list[str]:
    """Languages of the floor beside the one that its sentences are written in."""
    return [code for code, _ in languages() if code != settings.LANGUAGE_CODE]


@login_not_required  # the door of a tablet speaks too, and there is nothing of the works in it
def words(_: HttpRequest) -> HttpResponse:
    """The words of the tablet's scripts: the sentences once, and in their order what each language says for them."""
    catalogs = {language: Words().of(language) for language in spoken_here()}
    sentences = sorted({sentence for catalog in catalogs.values() for sentence in catalog})
    said = {language: [catalog.get(one, "") for one in sentences] for language, catalog in catalogs.items()}
    short = {"ensure_ascii": False, "separators": (",", ":")}
    return JsonResponse({"sentences": sentences, **said}, json_dumps_params=short)


def shell_page() -> str:
    """The same for everybody: nothing of a person stands in it, and a script says it in the language in use."""
    with translation.override(settings.LANGUAGE_CODE):
        return render_to_string("floor/shell.html")


@in_area("Floor")
def worker(_: HttpRequest) -> HttpResponse:
    """The worker of the floor, with the list of its shell; its version follows from their content."""
    told = {"SHELL": shell_files(), "VERSION": shell_version(), "BESIDE": [static(name) for name in BESIDE]}
    told["BESIDE_VERSION"] = version_of(*(Path(str(finders.find(name))) for name in BESIDE))
    head = "".join(f"const {name} = {json.dumps(value)};\n" for name, value in told.items())
    answer = HttpResponse(head + WORKER.read_text(encoding="utf-8"), content_type="text/javascript")
    answer["Cache-Control"] = "no-cache"
    return answer


def shell_files() -> list[str]:
    """Addresses that the worker keeps."""
    plain = (settings.STATIC_URL + name for name in PLAIN)
    pages = [reverse(f"floor:{name}") for name in ("shell", "camera", "words")]
    return [*pages, *(static(name) for name in NAMED), *plain]


@lru_cache
def shell_version() -> str:
    """Hash over the content of everything that the worker keeps, and over the worker itself."""
    catalogs = [path for folder in settings.LOCALE_PATHS for path in sorted(folder.rglob("djangojs.mo"))]
    files = (Path(str(finders.find(name))) for name in (*NAMED, *PLAIN))
    return version_of(WORKER, *files, *catalogs, pages=(shell_page(), camera_page()))


def version_of(*files: Path, pages: Sequence[str] = ()) -> str:
    """Hash over the content of files and pages."""
    whole = [*(page.encode() for page in pages), *(path.read_bytes() for path in files)]
    return sha256(b"\0".join(whole)).hexdigest()[:16]


def name_the_shell(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[[HttpRequest], HttpResponse]:
    """Each page of the floor names the shell that it is made for: the worker then takes its parts from the cache."""

    def answer(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        if request.path.startswith(reverse("floor:station_list")):
            if settings.DEBUG:
                shell_version.cache_clear()  # files are being worked on
            response["Floor-Shell"] = shell_version()
        return response

    return answer


@in_area("Floor")
def tablet_fit(request: HttpRequest) -> HttpResponse:
    """How large a millimetre is on this tablet's glass, and how loud it is: kept on the tablet alone."""
    volumes = [("0.05", _("Quiet")), ("0.5", _("Usual")), ("1", _("Loud"))]
    return render(request, "floor/fit.html", {"volumes": volumes})


@in_area("Floor")
def file_take(request: HttpRequest) -> HttpResponse:
    """A file that left a tablet without a link is taken in; what it holds is taken once, however often it comes."""
    context: dict[str, object] = {}
    if request.method == "POST":
        sent = request.FILES.get("file")
        context = taken_in(lambda: sent.read() if sent else b"", request.user)  # type: ignore[arg-type]
    return render(request, "floor/file_take.html", context)


@in_area("Floor")
def codes_take(request: HttpRequest) -> HttpResponse:
    """What another tablet showed as codes is taken in, once, from the lines that were read here."""
    context: dict[str, object] = {}
    if request.method == "POST":
        lines = request.POST.get("lines", "")
        context = taken_in(lambda: file_of_lines(lines.splitlines()), request.user)  # type: ignore[arg-type]
        context["lines"] = lines if "problem" in context else ""
    return render(request, "floor/codes_take.html", context)


def taken_in(body: Callable[[], bytes], by: Person) -> dict[str, object]:
    """Take in what left a tablet, in the form of its file; what a page shows of it."""
    try:
        file = read_file(body())
        for raw in file.photos:
            keep_photo(raw)
        answers = take_all(file.entries, by)
    except Refused as refused:
        return {"problem": str(refused)}
    return {"answers": list(zip(file.entries, answers, strict=True)), "counted": counted(answers)}


def counted(answers: list[Answer]) -> dict[str, int]:
    """How many were taken, were on file before, wait for their person, or could not be taken."""
    taken = [answer for answer in answers if answer.outcome in (TAKEN, FLAGGED)]
    later = sum(answer.outcome == LATER for answer in answers)
    repeats = sum(answer.repeat for answer in taken)
    return {
        "taken": len(taken) - repeats,
        "before": repeats,
        "later": later,
        "not_taken": len(answers) - len(taken) - later,
    }
