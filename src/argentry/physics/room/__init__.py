"""The air of the room, and what its warmth and damp do to plates and steps."""
