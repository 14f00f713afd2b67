"""Other studios: what a studio shares of what it learned, and what shared files let assume."""
