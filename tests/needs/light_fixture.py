"""An invented place and studio for the tests of exposing and developing."""

from datetime import UTC, datetime

from argentry.records.instruments import DevelopmentFrame, IodineBox, Lamp, Lens
from argentry.records.studio import Habits, Room, Site, Studio, Subject, Water
from argentry.sky.place import resolve_place

PLACE = resolve_place(None, 42.0, -1.0, 300.0, "Europe/Madrid")
SKYLINE = ((90.0, 5.0), (200.0, 5.0), (230.0, 50.0), (300.0, 50.0))
STUDIO = Studio(
    name="Invented studio",
    site=Site("Orraga (invented)", 42.0, -1.0, 300.0, "Europe/Madrid", SKYLINE),
    lenses=(
        Lens("portrait", 4.0, 150.0, "crown and flint"),
        Lens("view", 8.0, 180.0, near_uv_transmission=0.8),
    ),
    boxes=(IodineBox("box", 20.0, 50.0, 150.0),),
    frames=(
        DevelopmentFrame("sun frame", 600.0, 0.85, 6.5),
        DevelopmentFrame("lamp frame", 590.0, 0.9, 3.0, Lamp(500.0, 0.4)),
    ),
    room=Room(20.0, 50.0),
    water=Water("distilled"),
    subject=Subject("shade", 0.5, 3.0, "seated"),
    habits=Habits(plate_speed=5e-4, plate_speed_sigma_stops=0.4, development_dose_kj_m2=600.0),
    invented=True,
)


def utc(month, day, hour, minute=0):
    return datetime(2026, month, day, hour, minute, tzinfo=UTC)


def forecast(folder, okta, hours=range(24)):
    """Write a forecast of even cloud for 21 June 2026, by the hour in UTC."""
    head = "# time_zone: UTC\n# stamp: start\n# kind: forecast\ntime,cloud_okta\n"
    rows = "".join(f"2026-06-21T{hour:02d}:00,{okta}\n" for hour in hours)
    path = folder / "forecast.csv"
    path.write_text(head + rows, encoding="utf-8")
    return path
