"""The lot-to-frames list of a thing, as a PDF."""

from plant.papers.page import Made
from records.ledger.marks import Mark
from records.trace.management.papering import Papering
from records.trace.paper import frame_list_of, frame_list_pdf


class Command(Papering):
    help = "Write the list of where a thing went, frame by frame, as a PDF."
    name = "lottoframes"

    def paper(self, code: str, mark: Mark) -> tuple[str, Made]:
        facts = frame_list_of(code, mark)
        return facts.answer.names.code, frame_list_pdf(facts)
