"""The hidden state of one female: a plain record, so that a run can start from it and report it."""

from __future__ import annotations

import numpy as np

MOST_LUTEA = 6

_HOURS = (
    "now_h",
    "first_ovulation_h",  # hour at which she would begin to cycle by herself; inf once she does
    "unripe_until_h",  # the same, kept when a drug makes her begin
    "emergence_h",  # of the present or the next wave
    "deviation_h",
    "expired_h",  # when the last dominant follicle lost its function
    "ovulation_due_h",
    "heat_due_h",
    "last_ovulation_h",
    "pgf_h",
    "insert_in_h",
    "insert_out_h",
    "insert_lost_h",
    "mga_start_h",
    "mga_end_h",
    "ecg_until_h",
    "ester_h",  # of the dose that has not acted yet
    "ester_acts_h",
    "ester_surge_h",
    "ai_due_h",
    "last_ai_h",
    "earlier_ai_h",
    "service_h",
    "conceived_h",
    "embryo_lost_h",
    "false_heat_h",  # at which her aid is marked though she does not stand
    "pregnant_heat_h",  # at which she shows heat though she is pregnant
    "heat_h",
    "heat_end_h",
)
_AMOUNTS = (
    "diameter",
    "growth_mm_h",
    "clock_h",
    "clock_limit_h",
    "lifted",  # how far the brain has left the block by progesterone behind, 0 to 1
    "exposure",
    "p4_sum",
    "p4",  # in the middle of her last step
    "ester_surge_wait_h",
    "insert_amount",
    "insert_end_p4",
    "forced_exposure",
    "dominance_days",
    "ecg_share",  # of what a full dose of eCG does, of the last one
    "bull_share",  # of heats that find a bull free, while bulls are in
    "prior_p4",
    "ovulation_p4",  # at her last ovulation, from what had not gone by then
    # traits: what makes her herself
    "luteum_peak",
    "growth_trait",
    "clock_trait",
    "ripe_days",
    "threshold",
    "heat_trait",
    "strength_trait",
    "insert_trait",
    "induction_trait",
)
_FLAGS = (
    "is_cycling",
    "began_anestrous",
    "is_primed",  # a progestin or an earlier luteum has prepared uterus and brain
    "has_follicle",
    "is_forced",  # the coming ovulation was called by a drug
    "is_silent",
    "is_barren",  # nothing is ever fertilised in her
    "has_ovum",  # ovulated, not yet fertilised, not yet too old
    "insert_is_in",
    "mga_is_fed",
    "calf_is_off",
    "bulls_are_in",
    "is_pregnant",
    "found_pregnant",
    "ai_is_sexed",
    "ai_is_natural",
    "n_ovulations",
    "n_waves",
    "n_surges",
    "n_false_heats",
    "n_services",
    "n_cl",
)
STATE = np.dtype(
    [(name, "f8") for name in (*_HOURS, *_AMOUNTS)]
    + [(name, "i8") for name in _FLAGS]
    + [
        (name, "f8", (MOST_LUTEA,))
        for name in ("cl_birth", "cl_peak", "cl_fall", "cl_half", "cl_top", "cl_ripe")
    ]
    + [("cl_kind", "i8", (MOST_LUTEA,))]
)
