"""The chain of stages: what each plate says about each stage, and the odds of a good plate."""
