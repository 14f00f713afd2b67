"""What stands in the code where nothing is said: arguments and fields with a value of their own."""

import inspect
from dataclasses import MISSING, fields, is_dataclass
from importlib import import_module
from pkgutil import walk_packages


def modules_of(package):
    """Return every module of a package and of those below it."""
    found = walk_packages(package.__path__, f"{package.__name__}.")
    return [
        import_module(one.name)
        for one in found
        if not one.ispkg and ".migrations" not in one.name  # which only their own tool can read
    ]


def told(modules):
    """Return name, whose it is and value of every argument and field that has one but None."""
    rows = []
    for module in modules:
        for name, thing in vars(module).items():
            where = f"{module.__name__}.{name}"
            if getattr(thing, "__module__", "") != module.__name__:
                continue
            if is_dataclass(thing):
                for one in fields(thing):
                    made = () if one.default_factory is MISSING else (one.default_factory(),)
                    rows += [(one.name, where, value) for value in made or (one.default,)]
            elif inspect.isfunction(inspect.unwrap(thing)):
                rows += [
                    (one.name, where, one.default)
                    for one in inspect.signature(thing).parameters.values()
                ]
    untold = (None, MISSING, inspect.Parameter.empty)
    return [row for row in rows if not any(row[2] is x for x in untold)]


def beyond_nothing(package):
    """Return what is taken for an argument or a field left out, where it is more than nothing.

    By its place below the package. Nothing is 0, no, and no row; words and objects are left out.
    """
    found = {}
    for module in modules_of(package):
        place = module.__name__.removeprefix(f"{package.__name__}.")
        own = [one for one in vars(module).values() if _is_of(one, module)]
        inside = [
            one
            for kind in own
            if inspect.isclass(kind)
            for one in vars(kind).values()
            if inspect.isfunction(one) and one.__name__ != "__init__" and _is_of(one, module)
        ]
        for thing in [*own, *inside]:
            for name, value in _taken(thing):
                if type(value) in (bool, int, float, tuple) and value:
                    found[f"{place}.{thing.__qualname__}.{name}"] = value
    return found


def _is_of(thing, module):
    return getattr(thing, "__module__", "") == module.__name__


def _taken(thing):
    """Return name and value of what a class or a function takes where nothing is said."""
    if is_dataclass(thing):
        return [(one.name, one.default) for one in fields(thing)]
    if inspect.isclass(thing) or not inspect.isfunction(inspect.unwrap(thing)):
        return []
    given = inspect.signature(thing).parameters.values()
    return [(one.name, one.default) for one in given]
