"""The live run as pure functions: what hands do next, what an event may say."""
