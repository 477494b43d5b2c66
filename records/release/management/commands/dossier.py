"""The dossier of a unit, as a PDF."""

from plant.papers.page import Made
from records.ledger.marks import Mark
from records.release.papers.dossier import dossier_pdf
from records.release.papers.dossier_facts import dossier_of
from records.trace.management.papering import Papering


class Command(Papering):
    help = "Write everything on file about one unit as a PDF."
    name = "dossier"

    def paper(self, code: str, mark: Mark) -> tuple[str, Made]:
        facts = dossier_of(code, mark)
        return facts.unit.code, dossier_pdf(facts)
