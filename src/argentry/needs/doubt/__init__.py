"""What is not known of an exposure or a development: all of it, composed by one rule."""
