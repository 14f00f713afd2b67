"""To how many places figures are given: more would say what nobody measured."""

from argentry.records.plain import plain


def places_of(answer):
    """Return by key the most decimal places of an answer's figures; whole figures have none."""
    found = {}

    def look(key, value):
        if isinstance(value, dict):
            for inner, one in value.items():
                look(inner, one)
        elif isinstance(value, (list, tuple)):
            for one in value:
                look(key, one)
        elif isinstance(value, float):
            places = len(f"{value:.12f}".rstrip("0").partition(".")[2])
            found[key] = max(found.get(key, 0), places)

    look("", plain(answer))
    return found
