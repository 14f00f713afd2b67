"""Iodine as vapour, in the box and in the room: seconds over iodine, and how even the coat is."""
