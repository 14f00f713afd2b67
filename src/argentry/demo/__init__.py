"""An invented studio and its invented year of plates, made by the physics of the project itself."""
