"""Review of a design before anything is built or switched on: one module a theme, findings with their arithmetic."""
