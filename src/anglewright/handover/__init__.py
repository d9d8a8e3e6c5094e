"""The calibrated line handed to a controller: a plan that knows no language, one emitter a language."""
