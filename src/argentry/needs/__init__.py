"""What this studio needs now: camera time, seconds over iodine, dose, step lengths, lamp light."""
