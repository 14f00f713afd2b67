"""Colours and type of everything that is drawn."""

from __future__ import annotations

INK = "#1b1816"
VIOLET = "#6a2fb5"  # exposure light, and what was learned of it
RED = "#c4161c"  # development light
NIGHT = "#e4e3df"
REST = "#f0efeb"  # breaks
HAIR = "#d9d7d1"
FONT = "B612, Verdana, sans-serif"
SOFT = "#5c5650"  # second words
SHADE = "#dfdace"  # where most values lie, on white and on the paper of the pages
