"""Hundreds of quick cases as one test: each is tried, and each that fails is named.

As tests of their own every process collects them, and each is told to the others: a millisecond
and a half a case, which is more than most of them take.
"""

import inspect
import traceback

import pytest

SHOWN = 5  # failures told in full


def every(names, cases):
    """Try a test with each case, as `pytest.mark.parametrize` does, and fail once for all."""
    names, cases = [name.strip() for name in names.split(",")], list(cases)

    def over(test):
        def tried(**fixtures):
            assert cases
            wrong = []
            for case in cases:
                given = dict(zip(names, case if len(names) > 1 else [case], strict=True))
                try:
                    test(**given, **fixtures)
                except (Exception, pytest.fail.Exception):  # noqa: BLE001 - whatever it is, it is told
                    wrong.append((case, traceback.format_exc()))
            if wrong:
                told = [f"{len(wrong)} of {len(cases)}:", *(repr(case) for case, _ in wrong)]
                pytest.fail("\n".join([*told, *(one for _, one in wrong[:SHOWN])]), pytrace=False)

        asked = inspect.signature(test).parameters.values()
        tried.__signature__ = inspect.Signature([one for one in asked if one.name not in names])
        for name in ("__name__", "__qualname__", "__module__", "__doc__"):
            setattr(tried, name, getattr(test, name))
        return tried

    return over
