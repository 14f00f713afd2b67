"""Commands that look ahead: days, seasons, light and weather."""
