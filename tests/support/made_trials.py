"""What every made-up file of trials says to be scored by: the figures of trials.toml."""

SCORING = {
    "herd_sd_points": 6.0,
    "trial_sd_points": 3.0,
    "n_missing": 150,
    "females_per_location_missing": 150,
    "mixed_is": {"cow": 0.5, "heifer": 0.5},
    "cyclic_pct_missing": {"cow": 62, "first_calf_cow": 50, "heifer": 89, "mixed": 75},
    "days_postpartum_missing": {"mean": 70, "sd": 18},
    "body_condition_missing": {"mean": 5.3, "sd": 0.6},
}
