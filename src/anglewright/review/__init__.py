"""Review of a design before it is built or switched on: one module a theme, findings with arithmetic."""
