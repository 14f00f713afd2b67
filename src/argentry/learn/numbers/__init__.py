"""The studio's own numbers: plate speed, box factor, development dose."""
