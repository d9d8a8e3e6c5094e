"""From a need to ranked parts: every sensor at every ratio, each kept or refused with all its reasons."""
