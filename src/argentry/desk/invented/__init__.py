"""An invented studio and its invented year of plates, made by the project's own physics."""
