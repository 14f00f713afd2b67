"""What is printed or sent: sheets, charts, calendars, JSON."""
