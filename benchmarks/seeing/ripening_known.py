"""What the same looks would tell an observer who knows what the judge cannot.

It knows by which law each generator's plates rise, how far its plates spread, and how noisy its
pictures are; what it does not reach cannot be had from these looks.
"""

import numpy as np
from scipy.optimize import least_squares
from scipy.special import ndtr

LEVEL_SD, PICTURE_SD = 0.005, 0.02  # of a tone's level and of the bare edge in a picture
END_SD = 0.35  # of the logarithm of the dose at which plates are ripe
COAT, WHITE = (0.62, 0.17), (0.56, 0.3)  # middles and log sd of both
APART = 0.5, 1.0  # by how much lights are ripe before the middle tone, and its sd, in logarithms


def risen(law, over, own):
    """Return the share of the white, by the dose over a tone's own dose."""
    if law == "grains":
        return ndtr(np.log(over) / (0.8 * np.exp(0.15 * own)))
    wait = 0.35 / (1.0 + np.exp(-1.2 * own))
    return 1.0 - np.exp(-np.log(2.0) * np.maximum(over - wait, 0.0) / (1.0 - wait))


def end_by_law(doses, looks, law):
    """Return the natural logarithm of the dose at which the middle tone is ripe."""
    levels = np.maximum(looks.levels, 1e-3)[:, looks.middle :]
    count, tones = levels.shape

    def misfit(given):
        coat, white, bend = given[:3]
        own, pictures = given[3 : 3 + tones], given[3 + tones :]
        share = risen(law, doses[:, None] / np.exp(own), bend)
        veil = 0.12 * (doses / (2.5 * np.exp(own[0]))) ** 2
        share = share + veil[:, None] * (1.0 - share)
        drawn = (np.exp(coat) + np.exp(white) * share) * np.exp(pictures)[:, None]
        return np.concatenate([
            ((drawn - levels) / (LEVEL_SD * levels)).ravel(),
            [(coat - np.log(COAT[0])) / COAT[1], (white - np.log(WHITE[0])) / WHITE[1]],
            [bend, own[0] / END_SD], (own - own[0] + APART[0]) / APART[1], pictures / PICTURE_SD,
        ])  # fmt: skip

    first = [np.log(levels.min()), np.log(WHITE[0]), 0.0]
    tries = (
        least_squares(
            misfit,
            np.concatenate([first, at + np.linspace(0.0, -0.7, tones), np.zeros(count)]),
            x_scale=0.3, max_nfev=200,
        )
        for at in (-0.5, 0.0, 0.5)
    )  # fmt: skip
    return float(min(tries, key=lambda one: one.cost).x[3])
