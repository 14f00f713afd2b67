"""The studio's own certificate authority."""
