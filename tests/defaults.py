"""What stands in the code where nothing is said: arguments and fields with a value of their own."""

import inspect
from dataclasses import MISSING, fields, is_dataclass
from importlib import import_module
from pkgutil import walk_packages


def modules_of(package):
    """Return every module of a package and of those below it."""
    found = walk_packages(package.__path__, f"{package.__name__}.")
    return [import_module(one.name) for one in found if not one.ispkg]


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
