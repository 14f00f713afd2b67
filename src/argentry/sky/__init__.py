"""Place, date and weather turned into the two lights: exposure light and development light."""
