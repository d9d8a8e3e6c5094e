"""A plain document filled by the jobs, shown as one self-contained HTML file or as ten lines of text."""
