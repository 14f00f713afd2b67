"""What a studio keeps: its file, book, clock, plates, stock, pictures, sensors and forecasts."""
