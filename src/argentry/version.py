"""The version of this program."""

VERSION = "0.1.0"
