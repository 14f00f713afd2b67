"""The version of this program."""

VERSION = "0.4.0"
