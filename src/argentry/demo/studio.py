"""The invented studio: its place, instruments and habits."""

from __future__ import annotations

from argentry.records.instruments import DevelopmentFrame, IodineBox, Lens
from argentry.records.studio import Habits, Hours, Room, Site, Studio, Subject, Water

PLATE_SIZE = "quarter"


def invented_studio(plate_speed: float, good_share: float | None = None, plates: int = 0) -> Studio:
    """Return the studio of the demo.

    Parameters
    ----------
    plate_speed : float
        Speed the maker believes in. [ISO]
    good_share : float or None
        Share of the year's plates that came out good or fine. [1]
    plates : int
        How many plates that is.

    Returns
    -------
    Studio
        Place and people are invented, and every name says so.
    """
    return Studio(
        name="Studio of Nera Oskelin (invented)",
        site=Site(
            name="Orraga del Monte (invented)",
            latitude_deg=42.9,
            longitude_deg=-1.4,
            elevation_m=460.0,
            time_zone="Europe/Madrid",
            # a hill in the west takes the evening sun from late summer to spring
            horizon=(
                (0.0, 3.0),
                (90.0, 5.0),
                (140.0, 4.0),
                (200.0, 5.0),
                (232.0, 7.0),
                (255.0, 16.0),
                (280.0, 20.0),
                (312.0, 8.0),
            ),
            ground_albedo=0.2,
            haze_aod=0.1,
        ),
        lenses=(Lens("Landscape lens (invented)", 4.0, 180.0, "uncoated crown"),),
        boxes=(
            IodineBox(
                name="Walnut box (invented)",
                gap_mm=20.0,
                crystal_area_cm2=150.0,
                floor_area_cm2=180.0,
                crystal_spacing_mm=6.0,
            ),
        ),
        frames=(
            DevelopmentFrame(
                name="Red frame (invented)",
                cut_on_nm=600.0,
                transmission=0.9,
                blocking_density=5.8,
                count=3,
            ),
        ),
        room=Room(temperature_c=19.0, relative_humidity_pct=50.0),
        water=Water("distilled", 3.0),
        hours=Hours("08:00", "19:00", (("13:00", "14:00"),), 1),
        subject=Subject("sun", 0.4, 2.0, "head-rest"),
        habits=Habits(
            plate_size=PLATE_SIZE,
            coat_nm=25.0,
            plate_speed=plate_speed,
            plate_speed_sigma_stops=0.6,
            good_share=good_share,
            good_share_plates=plates,
        ),
        invented=True,
    )
