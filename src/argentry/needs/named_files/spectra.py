"""A spectrum that an option names."""

from __future__ import annotations

from pathlib import Path

from argentry.records.instruments import Spectrum
from argentry.trade.spectra import spectrum_named


def read_spectrum(where: str, name: str | None, kind: str) -> Spectrum | None:
    """Return the spectrum that an option names, a generic one or a file; None without a name."""
    return None if name is None else Spectrum(name, *spectrum_named(where, name, kind, Path()))
