"""What a weather file says of a day: which hours it covers, and what weathers it leaves open."""
