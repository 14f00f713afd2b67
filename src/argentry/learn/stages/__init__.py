"""The chain of stages: what each plate says about each stage, and the model of one stage."""
