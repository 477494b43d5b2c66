"""How often the rules cry wolf: the page's sentence is held by a chain of states."""

import numpy as np
from scipy.special import ndtr

from records.spc.showing import FALSE_ALARM_EVERY


def test_three_sigma_with_eight_in_a_row_gives_a_false_alarm_about_every_153_values():
    """Champ and Woodall, Technometrics 29 (1987) 393-399, give 152.7 for these two rules (from memory).

    States are the length of the run, 1 to 7, on either side alike; a point outside or the eighth ends the chain.
    """
    side = ndtr(3) - 0.5
    chain = np.zeros((7, 7))
    chain[:, 0] = side
    for length in range(6):
        chain[length, length + 1] = side
    steps = np.linalg.solve(np.eye(7) - chain, np.ones(7))
    assert abs(1 + 2 * side * steps[0] - FALSE_ALARM_EVERY) < 0.5
