"""What sensors send in, checked before it is believed."""
