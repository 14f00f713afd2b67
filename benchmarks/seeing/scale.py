"""How well a coat is told by the studio's own scale, beside the model alone."""

import io

import numpy as np
from PIL import Image

from argentry.judge.coat import Look, band_colours, see_coat
from argentry.physics.coat import colour, interlayer
from benchmarks.seeing import coat_other
from benchmarks.seeing.scene import LIGHTS, scene

BANDS = (8.0, 13.0, 18.0, 23.0, 28.0, 34.0, 41.0, 50.0)
DRIFT = 0.05  # of the seconds of a band: its coat is known no better
FIGURE = (
    "{count} coats within the bands: mean 90 % within {mean[0]:.1f} nm, 95 % {mean[1]:.1f}, "
    "fields 95 % {fields:.1f}, 80 % range holds {holds:.2f}"
)
MAKE, MODEL, LENS = 0x010F, 0x0110, 0xA434  # EXIF 2.32


def taken_by(content, make="Nordlys", model="N7", lens=""):
    """Return a picture whose file names its camera; not a pixel of it is another."""
    image = Image.open(io.BytesIO(content))
    exif = Image.Exif()
    exif[MAKE], exif[MODEL] = make, model
    exif.get_ifd(0x8769)[LENS] = lens
    out = io.BytesIO()
    image.save(out, "JPEG", quality="keep", exif=exif)
    return out.getvalue()


def ends_of(corners, count):
    """Return the middles of the first band and the last."""
    left, right = ((corners[a] + corners[b]) / 2 for a, b in ((0, 3), (1, 2)))
    first, last = (left + (right - left) * at for at in (0.5 / count, 1 - 0.5 / count))
    return *first, *last


def scale_of(seed, make=scene, **more):
    """Return a scale as a maker reads it, its bands fumed by the clock; None where none is read.

    Asked as its coat is, it is of the same phone, film and lamp.
    """
    true = np.array(BANDS) * np.exp(np.random.default_rng([seed, 11]).normal(0, DRIFT, len(BANDS)))
    truth, _ = make(seed, bands=tuple(true), **more)
    found = band_colours(truth.picture, ends_of(truth.corners, len(BANDS)), len(BANDS), "bottom")
    return None if isinstance(found, str) else np.column_stack([BANDS, found[0]])


def figures(count, first, make=scene, **more):
    """Return of coats within the bands, by the scale and by the model, error, range and fields."""
    by_scale, alone = [], []
    for seed in range(first, first + count):
        truth, _ = make(seed, **more)
        if not BANDS[0] <= truth.mean <= BANDS[-1]:
            continue
        scale = scale_of(seed, make, **more)
        lights = {truth.light: colour.light(LIGHTS[truth.light])}
        for own, into in ((scale, by_scale), (None, alone)):
            look = Look(lights, interlayer.likely(), truth.bare, truth.expected, scale=own)
            seen = see_coat(truth.picture, look)
            if seen.coats:
                best = seen.coats[0]
                off = np.abs(best.fields_nm - truth.thickness)
                holds = best.low_nm <= truth.mean <= best.high_nm
                error = abs(best.thickness_nm - truth.mean)
                into.append((error, holds, off[np.isfinite(off)]))
    return by_scale, alone


def said(rows):
    mean, holds, fields = zip(*rows, strict=True)
    return FIGURE.format(
        count=len(rows), mean=np.quantile(mean, (0.9, 0.95)), holds=np.mean(holds),
        fields=np.quantile(np.concatenate(fields), 0.95),
    )  # fmt: skip


def run(draws=20, first=66000):
    for name, make in (("", scene), ("other: ", coat_other.scene)):
        by_scale, alone = figures(draws, first, make)
        yield f"{name}by an own scale", said(by_scale)
        yield f"{name}the same by the model", said(alone)
