"""The JSON Schema of every ``--json`` answer, made from the dataclass that the command prints."""

from __future__ import annotations

import inspect
import re
from collections.abc import Mapping
from dataclasses import is_dataclass
from datetime import date, datetime
from pathlib import Path
from types import NoneType, UnionType
from typing import Any, Literal, Union, get_args, get_origin

from argentry.records.answers.condition import Condition
from argentry.records.answers.develop import DevelopAnswer
from argentry.records.answers.expose import ExposeAnswer
from argentry.records.answers.fume import FumeAnswer
from argentry.records.answers.light import LightAnswer
from argentry.records.answers.meter import MeterStory
from argentry.records.answers.survey import Survey
from argentry.records.learned import Adopted
from argentry.records.plain import Endless, Time, hints_of, key_of, shown_fields
from argentry.records.plate_record import PlateRecord

KINDS: dict[Any, dict[str, Any]] = {
    str: {"type": "string"},
    Path: {"type": "string"},
    bool: {"type": "boolean"},
    int: {"type": "integer"},
    float: {"type": "number"},
    Endless: {"type": ["number", "null"]},
    Time: {"type": "string", "format": "date-time"},
    NoneType: {"type": "null"},
    datetime: {"type": "string", "format": "date-time"},
    date: {"type": "string", "format": "date"},
}


def answers() -> dict[str, tuple[str, type]]:
    """Return the name of each answer with the command that prints it and its dataclass."""
    from argentry.bench.state_json import RunNow
    from argentry.demo.write import Demo
    from argentry.desk.forecasts import ForecastsCompared
    from argentry.desk.learning.batch import Batch
    from argentry.desk.learning.causes import AllLearned, WhyPlate, WhyStudio
    from argentry.desk.learning.comparison import Comparison
    from argentry.desk.learning.next_trial import NextPlate
    from argentry.desk.learning.odds import PlateOdds
    from argentry.desk.learning.sharing import ToShare
    from argentry.desk.notebook import NotebookDraft
    from argentry.desk.notebook_taken import TableImport, TakenBack
    from argentry.desk.readings.by_hand import NotedReading, Quantities
    from argentry.keeping.book import Backup, BookCheck, Restored, SalvagedBook
    from argentry.keeping.book_transfer import ArchiveImport, Exported
    from argentry.keeping.forecast.states import Fetched, WeatherServices
    from argentry.keeping.house_clock import ClockCheck
    from argentry.keeping.plates.grades import Catalogue
    from argentry.keeping.plates.mistakes import Erasure, WithdrawnRun
    from argentry.keeping.plates.pictures import KeptPicture
    from argentry.keeping.plates.plates import NewPlates, PlateList
    from argentry.keeping.sensors.devices import Devices, NewSensor, ShutOut
    from argentry.keeping.stock.baths import BathNow, Baths
    from argentry.keeping.stock.cost import Cost
    from argentry.keeping.stock.labels import Labels
    from argentry.keeping.stock.lot_facts import LotNow
    from argentry.keeping.stock.lots import Stock
    from argentry.keeping.stock.mixing_sheet import MixingSheet
    from argentry.keeping.stock.orders import Needs
    from argentry.keeping.stock.safety import DayEquipment, MaterialSafety, RoomSafety
    from argentry.keeping.stock.stock_list import StockImport
    from argentry.keeping.stock.waste import Waste
    from argentry.keeping.studio import NewStudio, StudioCheck
    from argentry.needs.air import RoomAir
    from argentry.needs.coat import Candidates, CoatReport
    from argentry.needs.coat_fit import LossyLayer
    from argentry.needs.materials.dilution import Converted, Diluted
    from argentry.needs.materials.mixing import Mixing
    from argentry.needs.materials.plate_wear import Wear
    from argentry.needs.materials.plating import PlatingPlan, Weighed
    from argentry.needs.materials.water import WaterAnswer
    from argentry.needs.recipe import Allowed, Mixture, Titles
    from argentry.records.answers.change_seen import ChangeSeen
    from argentry.records.answers.coat_seen import CoatSeen
    from argentry.records.answers.plate_seen import PlateSeen
    from argentry.records.answers.ripening_seen import RipeningSeen
    from argentry.records.answers.scale_seen import ScaleSeen
    from argentry.records.answers.season import Season
    from argentry.records.answers.wedge_seen import WedgeSeen
    from argentry.records.day import DayPlan

    return {
        "day": ("argentry day", DayPlan),
        "season": ("argentry season", Season),
        "weather_agree": ("argentry weather agree", WeatherServices),
        "weather_compare": ("argentry weather compare", ForecastsCompared),
        "weather_fetch": ("argentry weather fetch", Fetched),
        "weather_show": ("argentry weather show", WeatherServices),
        "light": ("argentry light", LightAnswer),
        "light_meter": ("argentry light --meter", MeterStory),
        "coat_nm": ("argentry coat --nm", CoatReport),
        "coat_lab": ("argentry coat --lab", Candidates),
        "coat_colour": ("argentry coat --colour", CoatReport),
        "coat_fit": ("argentry coat --fit", LossyLayer),
        "judge_coat": ("argentry judge coat", CoatSeen),
        "judge_scale": ("argentry judge scale", ScaleSeen),
        "judge_wedge": ("argentry judge wedge", WedgeSeen),
        "judge_plate": ("argentry judge plate", PlateSeen),
        "judge_ripening": ("argentry judge ripening", RipeningSeen),
        "judge_change": ("argentry judge change", ChangeSeen),
        "judge_survey": ("argentry judge survey", Survey),
        "fume": ("argentry fume", FumeAnswer),
        "expose": ("argentry expose", ExposeAnswer),
        "develop": ("argentry develop", DevelopAnswer),
        "air": ("argentry air", RoomAir),
        "odds": ("argentry odds", PlateOdds),
        "why_plate": ("argentry why PLATE", WhyPlate),
        "why_studio": ("argentry why --studio-wide", WhyStudio),
        "next": ("argentry next", NextPlate),
        "next_compare": ("argentry next --compare", Comparison),
        "need": ("argentry need", Batch),
        "learn": ("argentry learn show", AllLearned),
        "learn_share": ("argentry learn share FILE", ToShare),
        "learn_adopt": ("argentry learn adopt FILE...", Adopted),
        "recipe_check": ("argentry recipe check", Allowed),
        "recipe_mix": ("argentry recipe mix NAME", Mixture),
        "recipe_mix_list": ("argentry recipe mix", Titles),
        "mix_plates": ("argentry mix plates", Mixing),
        "mix_dilute": ("argentry mix dilute", Diluted),
        "mix_spirit": ("argentry mix spirit", Diluted),
        "mix_convert": ("argentry mix convert", Converted),
        "plating_current": ("argentry plating current", PlatingPlan),
        "plating_weigh": ("argentry plating weigh", Weighed),
        "plating_plates": ("argentry plating plates", Wear),
        "water": ("argentry water", WaterAnswer),
        "studio_new": ("argentry studio new", NewStudio),
        "studio_check": ("argentry studio check", StudioCheck),
        "bench": ("argentry bench", RunNow),
        "plate_give_up": ("argentry plate give-up", PlateRecord),
        "plate_rename": ("argentry plate rename", PlateRecord),
        "plate_withdraw": ("argentry plate withdraw", PlateRecord),
        "book_withdraw_run": ("argentry book withdraw-run", WithdrawnRun),
        "plate_picture": ("argentry plate picture", KeptPicture),
        "plate_new": ("argentry plate new", NewPlates),
        "plate_list": ("argentry plate list", PlateList),
        "plate_show": ("argentry plate show", PlateRecord),
        "plate_work": ("argentry plate work", PlateRecord),
        "plate_grade": ("argentry plate grade", PlateRecord),
        "plate_defect": ("argentry plate defect", PlateRecord),
        "plate_defect_list": ("argentry plate defect --list", Catalogue),
        "reading_add": ("argentry reading add", NotedReading),
        "reading_add_list": ("argentry reading add --list", Quantities),
        "bath_new": ("argentry bath new", BathNow),
        "bath_use": ("argentry bath use", BathNow),
        "bath_clearing": ("argentry bath clearing", BathNow),
        "bath_list": ("argentry bath list", Baths),
        "bath_discard": ("argentry bath discard", BathNow),
        "stock_new": ("argentry stock new", LotNow),
        "stock_import": ("argentry stock import", StockImport),
        "stock_use": ("argentry stock use", LotNow),
        "stock_list": ("argentry stock list", Stock),
        "stock_note": ("argentry stock note", LotNow),
        "stock_weigh": ("argentry stock weigh", LotNow),
        "stock_undo": ("argentry stock undo", LotNow),
        "stock_need": ("argentry stock need", Needs),
        "safety_show": ("argentry safety show", MaterialSafety),
        "safety_room": ("argentry safety room", RoomSafety),
        "safety_day": ("argentry safety day", DayEquipment),
        "waste": ("argentry waste", Waste),
        "waste_collected": ("argentry waste collected", Waste),
        "cost": ("argentry cost", Cost),
        "label_bottle": ("argentry label bottle", Labels),
        "label_plate": ("argentry label plate", Labels),
        "label_sleeve": ("argentry label sleeve", Labels),
        "label_handover": ("argentry label handover", Labels),
        "label_wall": ("argentry label wall", Labels),
        "label_mixing": ("argentry label mixing", MixingSheet),
        "label_room": ("argentry label room", RoomSafety),
        "label_waste": ("argentry label waste", Waste),
        "label_condition": ("argentry label condition", Condition),
        "book_check": ("argentry book check", BookCheck),
        "book_clock": ("argentry book clock", ClockCheck),
        "book_backup": ("argentry book backup", Backup),
        "book_erase_words": ("argentry book erase-words", Erasure),
        "book_salvage": ("argentry book salvage", SalvagedBook),
        "book_restore": ("argentry book restore", Restored),
        "book_export": ("argentry book export", Exported),
        "book_import_archive": ("argentry book import DIR", ArchiveImport),
        "book_import_table": ("argentry book import FILE", TableImport),
        "book_import_back": ("argentry book import FILE --take-back", TakenBack),
        "book_import_draft": ("argentry book import FILE, with questions open", NotebookDraft),
        "device_list": ("argentry device list", Devices),
        "device_revoke": ("argentry device revoke", ShutOut),
        "device_new_sensor": ("argentry device new-sensor", NewSensor),
        "demo": ("argentry demo", Demo),
    }


def schema(name: str) -> Mapping[str, Any]:
    """Return one schema.

    Parameters
    ----------
    name : str
        One of `answers`.

    Returns
    -------
    dict
        JSON Schema, draft 2020-12.
    """
    title, answer = answers()[name]
    head = {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": title}
    return {**head, **schema_of(answer)}


def schema_of(answer: type) -> Mapping[str, Any]:
    """Return the schema of a dataclass: its fields, told by the Attributes of its docstring.

    Parameters
    ----------
    answer : type
        A dataclass with a numpydoc docstring.

    Returns
    -------
    dict
        JSON Schema of `argentry.records.plain.plain` of it.

    Raises
    ------
    LookupError
        If a field is not described.
    """
    told, hints, properties = described(answer), hints_of(answer), {}
    for field in shown_fields(answer):
        if field.name not in told:
            raise LookupError(f"{answer.__qualname__}.{field.name} is not described")
        words, unit = told[field.name]
        kind = _kind_of(hints[field.name])
        for part in [kind, *kind.get("properties", {}).values()] if unit else ():
            part.setdefault("unit", unit)
        properties[key_of(field.name)] = kind | {"description": words}
    return {
        "description": " ".join(str(answer.__doc__).split("\n\n")[0].split()),
        "type": "object",
        "properties": properties,
        "required": list(properties),
    }


def described(answer: type) -> dict[str, tuple[str, str]]:
    """Return what the Attributes of a docstring say of each field.

    Parameters
    ----------
    answer : type
        A class with a numpydoc docstring; what its bases say holds for it too.

    Returns
    -------
    dict
        By field: its meaning and its unit. A line for several fields (``low, high : float``) may
        give one unit for all, or as many as there are fields.
    """
    found: dict[str, tuple[str, str]] = {}
    for one in reversed(answer.__mro__):
        _, _, part = inspect.cleandoc(one.__doc__ or "").partition("Attributes\n----------\n")
        for names, words in re.findall(r"^(\w[\w, ]*) :.*\n((?:[ ]+.*\n?)+)", part, re.MULTILINE):
            named = names.split(", ")
            *_, unit = "", *re.findall(r"\[([^\]]+)\]", words)
            text = " ".join(re.sub(r"\[[^\]]+\]", "", words).replace("``", "`").split())
            text = text.replace(" .", ".").rstrip(".")
            units = unit.split(", ")
            each = units if len(units) == len(named) else [unit] * len(named)
            found |= {name: (text, unit) for name, unit in zip(named, each, strict=True)}
    return found


def _kind_of(hint: Any) -> dict[str, Any]:
    if hint in KINDS:
        return dict(KINDS[hint])
    return dict(schema_of(hint)) if is_dataclass(hint) else _made_of(hint)  # type: ignore[arg-type]


def _made_of(hint: Any) -> dict[str, Any]:
    origin, inner = get_origin(hint), get_args(hint)
    if origin is Literal:
        return {"type": "string", "enum": list(inner)}
    if origin in (Union, UnionType):
        return _one_of([_kind_of(one) for one in inner])
    if origin is tuple and inner[-1] is not Ellipsis:
        return _tuple_of([_kind_of(one) for one in inner])
    if origin in (tuple, list):
        return {"type": "array", "items": _kind_of(inner[0])}
    if origin in (dict, Mapping):
        every = {} if inner[1] is Any else {"additionalProperties": _kind_of(inner[1])}
        return {"type": "object", **every}
    raise TypeError(f"{hint} has no form in JSON")


def _one_of(kinds: list[dict[str, Any]]) -> dict[str, Any]:
    """Return one kind or another, or null."""
    merged: dict[str, Any] = {}
    for kind in kinds:
        merged |= kind
    if "enum" in merged and {"type": "null"} in kinds:
        merged["enum"] = [*merged["enum"], None]
    return merged | {"type": [kind["type"] for kind in kinds]}


def _tuple_of(kinds: list[dict[str, Any]]) -> dict[str, Any]:
    size = {"minItems": len(kinds), "maxItems": len(kinds)}
    if all(kind == kinds[0] for kind in kinds):
        return {"type": "array", "items": kinds[0], **size}
    return {"type": "array", "prefixItems": kinds, **size}
