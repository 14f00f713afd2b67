"""Single questions: air, coat, light."""
