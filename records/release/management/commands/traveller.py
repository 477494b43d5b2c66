"""The traveller of a unit, as a PDF."""

from plant.papers.page import Made
from records.ledger.marks import Mark
from records.release.papers.traveller import traveller_of, traveller_pdf
from records.trace.management.papering import Papering


class Command(Papering):
    help = "Write the sheet that goes round with one unit, its route step by step, as a PDF."
    name = "traveller"

    def paper(self, code: str, mark: Mark) -> tuple[str, Made]:
        facts = traveller_of(code, mark)
        return facts.unit.code, traveller_pdf(facts)
