"""Files that people bring, read into recordings; every decision and every refused cell is kept."""
