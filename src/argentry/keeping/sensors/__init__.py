"""What sensors send, whether it is to be believed, and the devices that may send it."""
