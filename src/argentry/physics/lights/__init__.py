"""Light on the plate: sun, sky, clouds, meters, lamps and the red filter, band by band."""
