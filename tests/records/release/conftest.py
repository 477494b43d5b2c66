"""A frame that has a page of its own."""

import pytest

from records.release.actions import release_units, ship
from records.release.models import Passport
from tests import builders
from tests.builders import moment, said


@pytest.fixture
def token(clock_at):
    """That of the page of a frame that was released and shipped."""
    builders.a_works(holds={})
    builders.a_finished_frame("X1")
    release_units(["X1"], said=said(5))
    ship(["X1"], to="Dealer Larkmere", said=said(6))
    clock_at(moment(30))
    return Passport.objects.get().token
