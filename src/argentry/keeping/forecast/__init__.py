"""Weather by itself: a service that was agreed to, what it answered, what a day is planned by."""
