"""Sentences about the leg to rehearse on: what it can't be asked."""

from shared_models.language import Phrases

REFUSALS = Phrases({
    "model_leg_not_above_zero": "The model leg's {name} can't be {value}. Give a figure above 0.",
    "model_leg_below_zero": "The model leg's {name} can't be {value}. Give a figure of 0 or more.",
    "model_leg_unknown_function": "'{function}' is nothing that the model leg walks. Choose one of {known}.",
    "model_leg_outside_range": "{function}: position {position} is outside the adjuster's range. It runs from {lowest} to {highest}.",
    "model_leg_unknown_ground": "'{ground}' is no way down that the model leg walks. Choose one of {known}.",
    "model_leg_step_too_high": "A step of {rise} m is higher than the model leg can lower its person. Give a lower one.",
})
