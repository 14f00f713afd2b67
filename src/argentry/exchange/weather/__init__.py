"""Weather files: typical years, forecasts as tables."""
