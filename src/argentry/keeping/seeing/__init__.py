"""What photographs of plates say: the use cases."""
