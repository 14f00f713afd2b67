"""What the plate book teaches: odds, causes, speed, the next trial. Records in, records out."""
